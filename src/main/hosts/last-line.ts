/** Passes a child's error output on to the terminal and remembers its last line, bounded; a child without error output has none. */

const LONGEST_LINE = 1_000;

/** Answers a function that gives the last whole or unfinished line said so far. */
export function keepLastLine(stream: NodeJS.ReadableStream | null): () => string {
  let text = "";
  stream?.on("data", (chunk: Buffer) => {
    process.stderr.write(chunk);
    text = `${text}${chunk.toString("utf8")}`.slice(-LONGEST_LINE);
  });
  return () => text.trimEnd().split("\n").at(-1)?.trim() ?? "";
}
