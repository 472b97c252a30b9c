/**
 * A running, causal map from one source's clock to the recording's base: least delay over the last seconds. Bounded memory. A source
 * without a clock of its own (NaN) gets its arrival time.
 */

/** Long enough to contain an undelayed packet, short enough that 300 ppm of drift stays under 7 ms. */
const BINS = 20;
const BIN_S = 1;

export interface LiveClock {
  /** Base time, s, for the stamp `sourceS` of something that arrived at `arrivalS`. */
  map(sourceS: number, arrivalS: number): number;
  /** The source's clock restarted: earlier delays no longer count. */
  restart(): void;
}

export function createLiveClock(): LiveClock {
  const least = new Float64Array(BINS).fill(Number.POSITIVE_INFINITY);
  let bin = Number.NaN;
  return {
    map(sourceS, arrivalS) {
      if (!Number.isFinite(sourceS)) return arrivalS;
      const current = Math.floor(arrivalS / BIN_S);
      if (!Number.isFinite(bin) || current - bin >= BINS || current < bin) least.fill(Number.POSITIVE_INFINITY);
      else for (let b = bin + 1; b <= current; b++) least[b % BINS] = Number.POSITIVE_INFINITY;
      bin = current;
      const slot = ((current % BINS) + BINS) % BINS;
      least[slot] = Math.min(least[slot], arrivalS - sourceS);
      let delayS = Number.POSITIVE_INFINITY;
      for (const one of least) delayS = Math.min(delayS, one);
      return sourceS + delayS;
    },
    restart() {
      bin = Number.NaN;
    },
  };
}
