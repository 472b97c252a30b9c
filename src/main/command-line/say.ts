/** How commands speak: results to stdout, trouble as one line to stderr. */

export function say(text: string): void {
  process.stdout.write(`${text}\n`);
}

export function sayJson(value: unknown): void {
  process.stdout.write(`${JSON.stringify(value, null, 2)}\n`);
}

export function warn(text: string): void {
  process.stderr.write(`${text}\n`);
}
