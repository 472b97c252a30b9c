/** Starts the web host as a Node child. A message to one that has just died is dropped; its exit is reported. */
import { fork } from "node:child_process";
import { fileURLToPath } from "node:url";
import { keepingCompiled } from "../../disk/keep-compiled.ts";
import { ownModule } from "../../own-modules.ts";
import type { HostChild } from "./supervise-host.ts";

const ENTRY = fileURLToPath(ownModule("network"));

export function forkHost(): HostChild {
  const child = fork(ENTRY, [], { env: keepingCompiled(), serialization: "advanced", stdio: ["ignore", "inherit", "inherit", "ipc"] });
  // A message that was being sent when the child died; the exit tells the rest.
  child.on("error", () => undefined);
  return {
    pid: child.pid,
    send(message, written) {
      if (child.connected) child.send(message, written);
    },
    onMessage: (listener) => child.on("message", listener),
    onExit(listener) {
      child.once("exit", (code, signal) => listener(signal ?? `code ${code}`));
      // A process that could not be started has no exit event.
      if (child.pid === undefined) child.once("error", (error) => listener(error.message));
    },
    end() {
      if (child.connected) child.disconnect();
    },
    kill: () => child.kill("SIGKILL"),
  };
}
