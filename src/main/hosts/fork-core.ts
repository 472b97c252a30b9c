/** Starts the measuring process as a Node child (web host). A send to a child that has just died is dropped: its exit rejects the request. */
import { fork } from "node:child_process";
import type { CoreChild } from "./core-process.ts";
import { keepLastLine } from "./last-line.ts";

export interface ForkOptions {
  /** The module that speaks core-messages. */
  readonly entry: string;
  readonly argv: readonly string[];
}

export function forkCore({ entry, argv }: ForkOptions): CoreChild & { readonly pid: number | undefined } {
  const child = fork(entry, [...argv], { serialization: "advanced", stdio: ["ignore", "inherit", "pipe", "ipc"] });
  // What was being sent when it died; its exit says the rest.
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
      // What could not be started at all has no exit.
      if (child.pid === undefined) child.once("error", (error) => listener(null, error.message));
    },
    kill() {
      child.kill("SIGKILL");
    },
  };
}
