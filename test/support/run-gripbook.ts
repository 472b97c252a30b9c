/** Runs the real command line as a process of its own. Never throws on a failing command: code and both outputs are given back. */
import { type ChildProcess, spawn } from "node:child_process";
import { fileURLToPath } from "node:url";
import { answerFault } from "./answer-schemas.ts";

const ENTRY = fileURLToPath(new URL("../../src/main/command-line/gripbook.ts", import.meta.url));

export interface Ran {
  readonly code: number | null;
  readonly out: string;
  readonly err: string;
}

export interface Running {
  readonly child: ChildProcess;
  readonly ended: Promise<Ran>;
}

export function startGripbook(...given: string[]): Running {
  const child = spawn(process.execPath, [ENTRY, ...given], { stdio: ["pipe", "pipe", "pipe"] });
  let [out, err] = ["", ""];
  child.stdout.setEncoding("utf8").on("data", (text: string) => {
    out += text;
  });
  child.stderr.setEncoding("utf8").on("data", (text: string) => {
    err += text;
  });
  child.stdin.end();
  const ended = new Promise<Ran>((done) => child.once("close", (code) => done({ code, out, err })));
  return { child, ended };
}

export function gripbook(...given: string[]): Promise<Ran> {
  return startGripbook(...given).ended;
}

/** Runs with --json and parses; throws with the command's own line where it failed, and where the answer is not what its schema says. */
export async function gripbookJson<T>(...given: string[]): Promise<T> {
  const { code, out, err } = await gripbook(...given, "--json");
  if (code !== 0) throw new Error(`gripbook ${given.join(" ")} ended with ${code}: ${err}`);
  const answer: unknown = JSON.parse(out);
  const fault = answerFault(given[0] ?? "", answer);
  if (fault !== null) throw new Error(fault);
  return answer as T;
}
