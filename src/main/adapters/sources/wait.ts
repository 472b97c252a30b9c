/** Waits, or until cancelled: it then resolves early, so that the holder of a port can close it first. Never rejects. */
export function wait(ms: number, signal: AbortSignal): Promise<void> {
  return new Promise((resolve) => {
    const done = () => {
      clearTimeout(timer);
      signal.removeEventListener("abort", done);
      resolve();
    };
    const timer = setTimeout(done, signal.aborted ? 0 : ms);
    signal.addEventListener("abort", done);
  });
}
