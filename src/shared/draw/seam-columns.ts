/**
 * A launch cut into pixel columns: each keeps the largest value that falls in it, so a spike of one sample survives any zoom.
 * A column without a known value is NaN; between two samples that are no gap it holds the line that joins them.
 */

/** The samples behind one print, on one time axis (s from movement); NaN where unknown. */
export interface SeamData {
  readonly timeS: ArrayLike<number>;
  readonly slipKmh: ArrayLike<number>;
  readonly heldNm: ArrayLike<number>;
  readonly intervening: ArrayLike<number>;
}

export interface SeamColumns {
  /** The value of largest magnitude, sign kept; NaN unknown. */
  readonly slipKmh: Float32Array;
  readonly heldNm: Float32Array;
  /** 1 where the control intervenes. */
  readonly intervening: Uint8Array;
  /** 1 where any sample or join covers the column. */
  readonly covered: Uint8Array;
}

/** A pause between samples longer than this is a gap in the data, drawn as dots; other axes than time bring their own. */
const LONGEST_JOIN_S = 0.3;

const larger = (a: number, b: number) => (Number.isNaN(a) || Math.abs(b) > Math.abs(a) ? b : a);

/** Columns of `width` px for the window fromS to toS. Linear in samples plus pixels. */
export function seamColumns(data: SeamData, fromS: number, toS: number, width: number, longestJoin = LONGEST_JOIN_S): SeamColumns {
  const slipKmh = new Float32Array(width).fill(Number.NaN);
  const heldNm = new Float32Array(width).fill(Number.NaN);
  const intervening = new Uint8Array(width);
  const covered = new Uint8Array(width);
  const pxPerS = width / (toS - fromS);
  const put = (into: Float32Array, column: number, value: number) => {
    if (!Number.isNaN(value)) into[column] = larger(into[column], value);
  };
  const place = (column: number, slip: number, held: number, active: number) => {
    if (column < 0 || column >= width) return;
    put(slipKmh, column, slip);
    put(heldNm, column, held);
    if (active > 0) intervening[column] = 1;
    covered[column] = 1;
  };
  for (let i = 0; i < data.timeS.length; i += 1) {
    const t = data.timeS[i];
    const column = Math.floor((t - fromS) * pxPerS);
    const slip = data.slipKmh[i];
    const held = data.heldNm[i];
    place(column, slip, held, data.intervening[i]);
    const nextT = data.timeS[i + 1];
    if (nextT === undefined || nextT - t > longestJoin) continue;
    const last = Math.min(width, Math.floor((nextT - fromS) * pxPerS));
    for (let c = Math.max(0, column + 1); c < last; c += 1) {
      const share = (c - column) / (last - column);
      const join = (a: number, b: number) => a + (b - a) * share;
      place(c, join(slip, data.slipKmh[i + 1]), join(held, data.heldNm[i + 1]), data.intervening[i]);
    }
  }
  return { slipKmh, heldNm, intervening, covered };
}

const SLIP_SCALES_KMH = [15, 25, 40, 60] as const;
const HELD_SCALES_NM = [60, 120, 240] as const;

const least = (scales: readonly number[], largest: number) => scales.find((scale) => scale >= largest) ?? scales[scales.length - 1] ?? 1;

export interface SeamScales {
  readonly slipKmh: number;
  readonly heldNm: number;
}

/** The day's fixed scales: the least that hold the largest values seen. */
export const seamScales = (largestSlipKmh: number, largestHeldNm: number): SeamScales => ({
  slipKmh: least(SLIP_SCALES_KMH, largestSlipKmh),
  heldNm: least(HELD_SCALES_NM, largestHeldNm),
});

/** The largest known magnitude; 0 when nothing is known. */
export function largest(values: ArrayLike<number | null>): number {
  let most = 0;
  for (let i = 0; i < values.length; i += 1) {
    const value = values[i];
    if (value !== null && value !== undefined && Number.isFinite(value)) most = Math.max(most, Math.abs(value));
  }
  return most;
}
