/** The laptop's monotonic clock compared with true time. Never fails. */

export interface HostClock {
  /** Whole microseconds since the day's start at a true time in seconds. */
  usAt(tS: number): number;
  /** The same for bytes that reach the laptop at `tS`: while the laptop is busy they wait. */
  arrivalUsAt(tS: number): number;
}

/** A span in which the laptop reads nothing, true seconds since the day's start. */
export interface Stall {
  readonly atS: number;
  readonly seconds: number;
}

/** A clock that runs `ppm` parts per million fast. */
export function createHostClock(ppm: number, stalls: readonly Stall[]): HostClock {
  const usPerS = 1e6 + ppm;
  const usAt = (tS: number) => Math.round(tS * usPerS);
  return {
    usAt,
    arrivalUsAt(tS) {
      const stall = stalls.find(({ atS, seconds }) => tS >= atS && tS < atS + seconds);
      return usAt(stall === undefined ? tS : stall.atS + stall.seconds);
    },
  };
}
