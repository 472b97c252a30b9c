/** Starts the page on the local network as an Electron utility process: what the network can reach is not the window's own process. */
import { utilityProcess } from "electron";
import type { HostChild } from "../web/supervise-host.ts";

export function utilityHost(entry: string): HostChild {
  const child = utilityProcess.fork(entry, [], { serviceName: "Gripbook on the local network", stdio: "inherit" });
  // Once the process runs its number is known, and no request of its own can hold it back.
  const kill = () => (child.pid === undefined ? child.kill() : process.kill(child.pid, "SIGKILL"));
  return {
    get pid() {
      return child.pid;
    },
    send(message, written) {
      child.postMessage(message);
      written();
    },
    onMessage: (listener) => child.on("message", listener),
    onExit: (listener) => child.once("exit", (code) => listener(`code ${code}`)),
    end: kill,
    kill,
  };
}
