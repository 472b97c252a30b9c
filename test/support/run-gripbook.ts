/**
 * Runs the real command line: by itself, or one command after the other in a process that is kept (command-host.ts), as starting one takes longer than most
 * commands do. Never throws on a failing command: code and both outputs are given back.
 */
import { type ChildProcess, fork, spawn } from "node:child_process";
import { fileURLToPath } from "node:url";
import { answerFault } from "./answer-schemas.ts";
import type { HostedAnswer } from "./command-host.ts";

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

const HOST = fileURLToPath(new URL("command-host.ts", import.meta.url));

interface Host {
  readonly child: ChildProcess;
  /** As it was when the host began: a process reads much of it only then. */
  readonly environment: string;
}
let host: Host | null = null;

function keptHost(): ChildProcess {
  const environment = JSON.stringify(process.env);
  if (host?.environment === environment && host.child.connected) return host.child;
  host?.child.disconnect();
  const child = fork(HOST, { stdio: ["ignore", "inherit", "inherit", "ipc"], execArgv: [] });
  // It ends with this process, and does not keep it.
  child.unref();
  child.channel?.unref();
  host = { child, environment };
  return child;
}

function askHost(given: readonly string[]): Promise<Ran> {
  const child = keptHost();
  return new Promise((done, failed) => {
    const ended = (code: number | null) => failed(new Error(`gripbook ${given.join(" ")} ended the process that ran it, with ${code}`));
    child.channel?.ref();
    child.once("exit", ended);
    child.once("message", (answer: HostedAnswer) => {
      child.off("exit", ended);
      child.channel?.unref();
      done(answer);
    });
    child.send(given);
  });
}

/** One after the other: an answer belongs to the command asked last. */
let before: Promise<unknown> = Promise.resolve();

/** What reads standard input or opens devices, which a process has once. */
const ALONE: ReadonlySet<string> = new Set(["-", "decode", "epochs", "capture"]);

/** In the kept process, or alone where that is needed. */
export function gripbook(...given: string[]): Promise<Ran> {
  if (given.some((word) => ALONE.has(word))) return startGripbook(...given).ended;
  const answer = before.then(() => askHost(given));
  before = answer.catch(() => undefined);
  return answer;
}

/** Runs with --json and parses; throws with the command's own line where it failed, and where the answer is not what its schema says. */
export async function gripbookJson<T>(...given: string[]): Promise<T> {
  return answerOf<T>(given, await gripbook(...given, "--json"));
}

/** The same in a process of its own, as people run it. */
export async function gripbookJsonAlone<T>(...given: string[]): Promise<T> {
  return answerOf<T>(given, await startGripbook(...given, "--json").ended);
}

function answerOf<T>(given: readonly string[], { code, out, err }: Ran): T {
  if (code !== 0) throw new Error(`gripbook ${given.join(" ")} ended with ${code}: ${err}`);
  const answer: unknown = JSON.parse(out);
  const fault = answerFault(given[0] ?? "", answer);
  if (fault !== null) throw new Error(fault);
  return answer as T;
}
