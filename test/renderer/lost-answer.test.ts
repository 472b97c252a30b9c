/** What Time lost says while its answer is awaited, and once there is none: a page that works for ever on nothing is never told. */
import { expect, test } from "vitest";
import { createLostAnswer } from "../../src/renderer/pages/lost/lost-answer.ts";
import type { RunRow } from "../../src/shared/contract/contract.ts";

test("a question that fails is told as such, and not as work; asked again it is work again, and then the answer", async () => {
  const runs: readonly RunRow[] = [];
  const answers: ((good: boolean) => void)[] = [];
  const frame = {
    runs: () => runs,
    compared: { asked: {} },
    bridge: {
      request: () =>
        new Promise((resolve, reject) =>
          answers.push((good) => (good ? resolve({ where: [] }) : reject(new Error("its thread ended with code 1; ask again")))),
        ),
    },
  };
  const answer = createLostAnswer(frame as never, () => undefined);
  const first = answer.load();
  expect([answer.failed(), answer.old()]).toEqual([false, expect.stringContaining("The runs are read")]);
  answers[0]?.(false);
  await expect(first).rejects.toThrow("ask again");
  expect([answer.failed(), answer.old()]).toEqual([true, expect.stringContaining("was not worked out")]);
  const second = answer.load();
  expect([answer.failed(), answer.old()]).toEqual([false, expect.stringContaining("The runs are read")]);
  answers[1]?.(true);
  await second;
  expect([answer.failed(), answer.old()]).toEqual([false, null]);
});
