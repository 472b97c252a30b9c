/** Lets waiting bytes be taken before the next piece of long work: screens and the measuring share one thread. Never fails. */
export function breathe(): Promise<void> {
  return new Promise((resume) => setImmediate(resume));
}
