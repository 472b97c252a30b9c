/** Lets waiting bytes be read before the next piece of long work, since screens and measuring share one thread. Never fails. */
export function breathe(): Promise<void> {
  return new Promise((resume) => setImmediate(resume));
}
