/** The laptop's monotonic clock as against true time. Never fails. */

export interface HostClock {
  /** Whole microseconds since the day's start at a true time in seconds. */
  usAt(tS: number): number;
}

/** Clock that runs `ppm` parts per million fast. */
export function createHostClock(ppm: number): HostClock {
  const usPerS = 1e6 + ppm;
  return { usAt: (tS) => Math.round(tS * usPerS) };
}
