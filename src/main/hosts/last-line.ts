/** Copies a child's error output to the terminal and remembers its last line, bounded; a child without error output has none. */
import { plainLines } from "../../shared/kernel/one-line.ts";

const LONGEST_LINE = 1_000;

/** Returns a function that gives the last line so far, finished or not. */
export function keepLastLine(stream: NodeJS.ReadableStream | null): () => string {
  let text = "";
  stream?.setEncoding("utf8");
  stream?.on("data", (chunk: string) => {
    const said = plainLines(chunk);
    process.stderr.write(said);
    text = `${text}${said}`.slice(-LONGEST_LINE);
  });
  return () => text.trimEnd().split("\n").at(-1)?.trim() ?? "";
}
