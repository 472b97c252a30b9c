/** One line for the person at the terminal. */
import { oneLine } from "../../shared/kernel/one-line.ts";

export function createLogLine(): (line: string) => void {
  return (line) => process.stderr.write(`gripbook: ${oneLine(line)}\n`);
}

/** A terminal that was closed takes no more lines; what measures goes on, and ends by its own rules. */
export function outliveTerminal(): void {
  for (const stream of [process.stdout, process.stderr]) stream.on("error", () => undefined);
}
