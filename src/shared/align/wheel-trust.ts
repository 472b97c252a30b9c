/**
 * Which undriven wheels may speak for the car's speed. They are heard ten times as often as the receiver and would carry the
 * estimate with them when they lock or leave the ground slowly; so each is held against the receiver at every epoch's own
 * instant. A wheel that was off twice running is set aside, and taken back once it agrees twice. Bounded by the wheels there are.
 */

/** Off by less than this is the tyre's own slip under brakes or in a bend. */
const LEAST_MPS = 0.25;
const SIGMAS = 4;
const TWICE = 2;
/** Readings further from the epoch's instant than this say nothing of it. */
const NEAREST_S = 0.06;

type WheelStanding = "used" | "locked" | "lifted";

interface WheelReading {
  readonly tS: number;
  readonly mps: readonly number[];
  readonly sigmaMps: readonly number[];
}

export interface WheelTrust {
  of(wheel: number): WheelStanding;
  /** Mean of the wheels in good standing, or null. */
  mean(reading: WheelReading): { readonly mps: number; readonly sigmaMps: number } | null;
  /** Holds the wheels against a receiver's speed at `tS`; true where a wheel's standing changed. */
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
  /** Epochs running that spoke against a wheel's standing. */
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
      // Wheels that part leave the speed open by as much as they part, until the receiver says which is wrong.
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
        // Far off, once is enough.
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
