/**
 * One process for many commands of a test: each runs the real entry file anew, with its words, its outputs and its exit code, but Node and the modules
 * are loaded once. Ends with the process that started it. A command that ends the process ends its answer too: run-gripbook.ts says so.
 */
import { KMH_AND_M } from "../../src/shared/kernel/shown-units.ts";
import { useUnits } from "../../src/main/command-line/say.ts";

export interface HostedAnswer {
  readonly code: number;
  readonly out: string;
  readonly err: string;
}

const ENTRY = new URL("../../src/main/command-line/gripbook.ts", import.meta.url).href;

/** Keeps what is written to a stream until it is given back. */
function kept(stream: NodeJS.WriteStream): () => string {
  const pieces: Buffer[] = [];
  const { write } = stream;
  stream.write = ((piece: string | Uint8Array) => pieces.push(Buffer.from(piece as string)) > 0) as typeof stream.write;
  return () => {
    stream.write = write;
    return Buffer.concat(pieces).toString("utf8");
  };
}

let asked = 0;
async function run(words: readonly string[]): Promise<HostedAnswer> {
  const [out, err] = [kept(process.stdout), kept(process.stderr)];
  process.argv = [process.argv[0] as string, ENTRY, ...words];
  process.exitCode = 0;
  // A usage error is told before the command's own units are known.
  useUnits(KMH_AND_M);
  asked += 1;
  try {
    await import(`${ENTRY}?asked=${asked}`);
    return { code: Number(process.exitCode), out: out(), err: err() };
  } finally {
    process.stdout.removeAllListeners("error");
  }
}

let before: Promise<unknown> = Promise.resolve();
process.on("message", (words: readonly string[]) => {
  before = before.then(async () => process.send?.(await run(words)));
});
process.on("disconnect", () => process.exit(0));
