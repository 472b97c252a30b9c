/** Starts the measuring process as an Electron utility process: it has its own V8 and event loop, so that no window delays a byte. */
import { utilityProcess } from "electron";
import type { CoreChild } from "../core-process.ts";
import { keepLastLine } from "../last-line.ts";

export function utilityCore(entry: string, argv: readonly string[]): CoreChild {
  const child = utilityProcess.fork(entry, [...argv], { serviceName: "Gripbook measuring", stdio: ["ignore", "inherit", "pipe"] });
  const lastLine = keepLastLine(child.stderr);
  return {
    // Known once it runs.
    get pid() {
      return child.pid;
    },
    send: (message) => child.postMessage(message),
    onMessage: (listener) => child.on("message", listener),
    onExit: (listener) => child.once("exit", (code) => listener(code, lastLine())),
    // A process that stands still takes no other signal.
    kill: () => (child.pid === undefined ? child.kill() : process.kill(child.pid, "SIGKILL")),
  };
}
