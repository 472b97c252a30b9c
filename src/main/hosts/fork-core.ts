/** Starts the measuring process as a Node child (web host). A send to a child that has just died is dropped: its exit rejects the request. */
import { fork } from "node:child_process";
import type { CoreChild } from "./core-process.ts";

export interface ForkOptions {
  /** The module that speaks core-messages. */
  readonly entry: string;
  readonly argv: readonly string[];
}

export function forkCore({ entry, argv }: ForkOptions): CoreChild {
  const child = fork(entry, [...argv], { serialization: "advanced", stdio: ["ignore", "inherit", "inherit", "ipc"] });
  return {
    send(message) {
      if (child.connected) child.send(message);
    },
    onMessage(listener) {
      child.on("message", listener);
    },
    onExit(listener) {
      child.once("exit", listener);
    },
    kill() {
      child.kill("SIGKILL");
    },
  };
}
