/** One line for the person at the terminal. */
export function createLogLine(): (line: string) => void {
  return (line) => process.stderr.write(`gripbook: ${line}\n`);
}
