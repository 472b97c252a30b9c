/**
 * Ends this process with whoever started it: on signals, and when npm has gone, however it went. A second signal ends it at once. A closed terminal
 * ends what was started in it. What was started away from any terminal (nohup, setsid, a service) goes on recording then, without npm too.
 */
import { isatty } from "node:tty";
import { npmAbove } from "./npm-above.ts";

const LOOK_MS = 500;
/** What ended npm may be a closed terminal, whose signal to this process is still on its way at the first look. */
const LOOKS = 2;

/** Whether npm's script runner started this process. Started by hand, it continues when its shell ends, like any program. */
const isNpmChild = () => process.env.npm_lifecycle_event !== undefined;

const isAtTerminal = () => [0, 1, 2].some((descriptor) => isatty(descriptor));

/** Signal 0 only asks (kill(2)). */
function isThere(pid: number): boolean {
  try {
    return process.kill(pid, 0);
  } catch (error) {
    return (error as NodeJS.ErrnoException).code !== "ESRCH";
  }
}

/** Calls `gone` once where npm started this process and is no longer there. */
function watchNpm(gone: () => void): () => void {
  if (!isNpmChild()) return () => undefined;
  const parent = process.ppid;
  const npm = npmAbove();
  let looks = 0;
  const timer = setInterval(() => {
    const isGone = process.ppid !== parent || (npm !== null && !isThere(npm));
    looks = isGone ? looks + 1 : 0;
    if (looks < LOOKS) return;
    clearInterval(timer);
    gone();
  }, LOOK_MS).unref();
  return () => clearInterval(timer);
}

/** `close` is called once; then the process exits with 0. `say` gets why something else happens than a signal usually brings. */
export function endWithParent(close: () => Promise<void>, say: (line: string) => void): void {
  const atTerminal = isAtTerminal();
  let asked = false;
  const end = () => {
    if (asked) return;
    asked = true;
    void close().then(() => process.exit(0));
  };
  const leaveNpm = watchNpm(end);
  for (const signal of ["SIGINT", "SIGTERM"] as const) {
    process.on(signal, () => {
      if (asked) process.exit(1);
      end();
    });
  }
  process.on("SIGHUP", () => {
    if (atTerminal) return end();
    // npm does not outlive it, even under nohup.
    leaveNpm();
    say(`The terminal was closed, and recording goes on without it; \`kill ${process.pid}\` ends it`);
  });
}
