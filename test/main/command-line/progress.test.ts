/** One line for a person at a terminal, none for a pipe; a shorter line leaves nothing of a longer one behind. */
import { expect, test } from "vitest";
import { createProgress } from "../../../src/main/command-line/progress.ts";

function told(isTTY: boolean): { said: string[]; progress: ReturnType<typeof createProgress> } {
  const said: string[] = [];
  return {
    said,
    progress: createProgress({
      isTTY,
      write(text: string | Uint8Array) {
        said.push(String(text));
        return true;
      },
    }),
  };
}

test("createProgress() writes over its own line, says nothing twice, and takes it away at the end", () => {
  const { said, progress } = told(true);
  progress.at(null, "Storing: 12 min 40 s of the logs");
  progress.at(0.431, "Deriving");
  progress.at(0.435, "Deriving");
  progress.end();
  progress.end();
  expect(said).toEqual(["\rStoring: 12 min 40 s of the logs", `\r${"Deriving: 43 %".padEnd(32)}`, `\r${" ".repeat(14)}\r`]);
});

test("createProgress() is silent where no terminal listens", () => {
  const { said, progress } = told(false);
  progress.at(0.5, "Deriving");
  progress.end();
  expect(said).toEqual([]);
});
