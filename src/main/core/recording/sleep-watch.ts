/**
 * Notices that the computer slept: its uptime, which includes sleep, then advanced more than the monotonic clock, which does not. Never
 * fails.
 */
import type { Clock } from "../../ports/clock.ts";

/** Uptime is in whole or hundredth seconds; a real sleep is longer than this. */
const SLEPT_S = 3;
const LOOK_NS = 0.5e9;

export interface SleepWatch {
  /** True once for each sleep. */
  slept(): boolean;
}

export function createSleepWatch(clock: Clock): SleepWatch {
  const ahead = () => clock.uptimeS() - clock.monotonicNs() / 1e9;
  let usualS = ahead();
  let nextLookNs = clock.monotonicNs() + LOOK_NS;
  return {
    slept() {
      const nowNs = clock.monotonicNs();
      if (nowNs < nextLookNs) return false;
      nextLookNs = nowNs + LOOK_NS;
      const aheadS = ahead();
      const slept = aheadS - usualS > SLEPT_S;
      usualS = aheadS;
      return slept;
    },
  };
}
