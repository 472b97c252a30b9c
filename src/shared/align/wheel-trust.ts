/**
 * Decides which undriven wheels may be used for the car's speed. They report ten times as often as the receiver, so a wheel that locks or
 * leaves the ground slowly would pull the estimate with it. Each wheel is therefore compared with the receiver at every epoch's instant. A
 * wheel that was off twice in a row is set aside; one that agrees twice in a row is used again. Memory is bounded by the number of wheels.
 */

/** A smaller difference is the tyre's own slip under braking or in a bend. */
const LEAST_MPS = 0.25;
const SIGMAS = 4;
const TWICE = 2;
/** A reading further from the epoch's instant is not compared with it. */
const NEAREST_S = 0.06;

type WheelStanding = "used" | "locked" | "lifted";

interface WheelReading {
  readonly tS: number;
  readonly mps: readonly number[];
  readonly sigmaMps: readonly number[];
}

export interface WheelTrust {
  of(wheel: number): WheelStanding;
  /** Mean of the trusted wheels, or null. */
  mean(reading: WheelReading): { readonly mps: number; readonly sigmaMps: number } | null;
  /** Compares the wheels with a receiver's speed at `tS`; true where a wheel became trusted or was set aside. */
  judge(
    history: readonly { readonly reading: WheelReading & { readonly receiver: boolean } }[],
    tS: number,
    speedMps: number,
    sigmaMps: number,
  ): boolean;
}

/** All wheels trusted. */
export function createWheelTrust(): WheelTrust {
  const standing: WheelStanding[] = [];
  /** Number of epochs in a row that contradict a wheel's state. */
  const against: number[] = [];
  const of = (wheel: number): WheelStanding => standing[wheel] ?? "used";

  return {
    of,
    mean(reading) {
      const { sigmaMps } = reading;
      const used = reading.mps.flatMap((value, j) =>
        of(j) === "used" && Number.isFinite(sigmaMps[j]) ? [{ value, sigma: sigmaMps[j] }] : [],
      );
      if (used.length === 0) return null;
      const mps = used.reduce((sum, { value }) => sum + value, 0) / used.length;
      // While trusted wheels differ, the speed is uncertain by their difference, until the receiver shows which one is wrong.
      const apartMps = used.reduce((most, { value }) => Math.max(most, Math.abs(value - mps)), 0);
      const sigma = used.reduce((sum, each) => sum + each.sigma, 0) / used.length;
      return { mps, sigmaMps: apartMps > SIGMAS * sigma ? Math.hypot(sigma, apartMps) : sigma };
    },
    judge(history, tS, speedMps, sigmaMps) {
      let nearest: WheelReading | null = null;
      for (const { reading } of history)
        if (!reading.receiver && Math.abs(reading.tS - tS) < Math.abs((nearest?.tS ?? Number.NEGATIVE_INFINITY) - tS)) nearest = reading;
      if (nearest === null || Math.abs(nearest.tS - tS) > NEAREST_S) return false;
      let changed = false;
      nearest.mps.forEach((mps, j) => {
        if (!Number.isFinite(mps)) return;
        const off = mps - speedMps;
        const most = Math.max(LEAST_MPS, SIGMAS * sigmaMps);
        const now: WheelStanding = Math.abs(off) <= most ? "used" : off < 0 ? "locked" : "lifted";
        // When the difference is large, one epoch is enough.
        against[j] = now === of(j) ? 0 : (against[j] ?? 0) + (Math.abs(off) > 2 * most ? TWICE : 1);
        if (against[j] < TWICE) return;
        standing[j] = now;
        against[j] = 0;
        changed = true;
      });
      return changed;
    },
  };
}
