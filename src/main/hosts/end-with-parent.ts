/** Ends with whoever started this: on signals, and when npm has gone, which passes a signal on to its shell alone. A second signal ends at once. */

const LOOK_MS = 500;

/** Whether npm's script runner started this process; started by hand it stays when its shell goes, as any program does. */
const isNpmChild = () => process.env.npm_lifecycle_event !== undefined;

/** `close` is called once; then the process ends with 0. */
export function endWithParent(close: () => Promise<void>): void {
  let asked = false;
  const end = () => {
    if (asked) return;
    asked = true;
    void close().then(() => process.exit(0));
  };
  for (const signal of ["SIGINT", "SIGTERM", "SIGHUP"] as const) {
    process.on(signal, () => {
      if (asked) process.exit(1);
      end();
    });
  }
  const parent = process.ppid;
  if (!isNpmChild()) return;
  setInterval(() => {
    if (process.ppid !== parent) end();
  }, LOOK_MS).unref();
}
