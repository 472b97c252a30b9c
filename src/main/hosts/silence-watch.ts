/**
 * Counts how long a child process has said nothing, in looks of this process. While the computer sleeps, or has no time for this process either, nobody
 * looks and nothing is counted. Never fails.
 */

const LOOK_MS = 500;

export interface SilenceWatch {
  /** The child said something. */
  heard(): void;
  stop(): void;
}

/** `silent` is called at each look with the seconds counted so far. */
export function watchSilence(silent: (seconds: number) => void): SilenceWatch {
  let looks = 0;
  const timer = setInterval(() => {
    looks += 1;
    silent((looks * LOOK_MS) / 1000);
  }, LOOK_MS);
  return {
    heard() {
      looks = 0;
    },
    stop: () => clearInterval(timer),
  };
}
