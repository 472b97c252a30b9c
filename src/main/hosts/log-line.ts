/** Writes one line for the person at the terminal, and the same to the log. */
import { oneLine } from "../../shared/kernel/one-line.ts";
import { createLog, type LogPart } from "../disk/log.ts";

export function createLogLine(part: LogPart): (line: string) => void {
  const log = createLog(part);
  return (line) => {
    process.stderr.write(`gripbook: ${oneLine(line)}\n`);
    log("info", line);
  };
}

/** A terminal that was closed takes no more lines; measuring continues and ends by its own rules. */
export function outliveTerminal(): void {
  for (const stream of [process.stdout, process.stderr]) stream.on("error", () => undefined);
}
