/** `ports`: lists serial ports and what seems to send on each, and a gpsd on this computer. Only listens. */
import type { Command } from "commander";
import { lookAtPorts } from "../compose.ts";
import { say, sayJson } from "./say.ts";

export function addPortsCommand(program: Command): void {
  program
    .command("ports")
    .argument("[paths...]", "ports to look at besides those the system lists")
    .description("serial ports with what seems to talk on each, and gpsd; nothing is written to any")
    .action(async (paths: string[], _options: unknown, command: Command) => {
      const ports = await lookAtPorts(paths);
      if (command.optsWithGlobals().json === true) return sayJson<"ports">(ports);
      return say(
        ports.length === 0
          ? "No serial ports found. Plug a device in, or name a port: ports /dev/..."
          : ports.map((port) => `${port.path}  ${port.talks}${port.description === "" ? "" : `  (${port.description})`}`),
      );
    });
}
