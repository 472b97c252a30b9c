/**
 * How long to wait before a process that died is started again: short at first, longer each time it dies before it worked, up to 5 s. Never
 * fails.
 */

export interface Revival {
  /** Deaths since it last worked. */
  deaths(): number;
  again(start: () => void): void;
  well(): void;
  cancel(): void;
}

const LONGEST_DELAY_MS = 5_000;

export function createRevival(firstDelayMs: number): Revival {
  let deaths = 0;
  let timer: ReturnType<typeof setTimeout> | undefined;
  return {
    deaths: () => deaths,
    again(start) {
      timer = setTimeout(start, Math.min(firstDelayMs * 2 ** deaths, LONGEST_DELAY_MS));
      deaths += 1;
    },
    well() {
      deaths = 0;
    },
    cancel: () => clearTimeout(timer),
  };
}
