/**
 * Starts the measuring process as a Node child (web host). A message to a child that has just died is dropped: its exit rejects the
 * request.
 */
import { fork } from "node:child_process";
import { keepingCompiled } from "../disk/keep-compiled.ts";
import type { CoreChild } from "./core-process.ts";
import { keepLastLine } from "./last-line.ts";

/**
 * Room for young objects, MB: three times as much is kept once it was used, in the process and in each of its threads. V8's own limit (32 MB on a machine
 * of 64 bits) made the process half as large again after a day was derived, and deriving no faster.
 */
const YOUNG_HEAP = "--max-semi-space-size=4";

export interface ForkOptions {
  /** The module that speaks core-messages. */
  readonly entry: string;
  readonly argv: readonly string[];
}

export function forkCore({ entry, argv }: ForkOptions): CoreChild {
  const child = fork(entry, [...argv], {
    execArgv: [...process.execArgv, YOUNG_HEAP],
    env: keepingCompiled(),
    serialization: "advanced",
    stdio: ["ignore", "inherit", "pipe", "ipc"],
  });
  // A message that was being sent when it died; the exit tells the rest.
  child.on("error", () => undefined);
  const lastLine = keepLastLine(child.stderr);
  return {
    pid: child.pid,
    send(message) {
      if (child.connected) child.send(message);
    },
    onMessage(listener) {
      child.on("message", listener);
    },
    onExit(listener) {
      child.once("exit", (code) => listener(code, lastLine()));
      // A process that could not be started has no exit event.
      if (child.pid === undefined) child.once("error", (error) => listener(null, error.message));
    },
    kill() {
      child.kill("SIGKILL");
    },
  };
}
