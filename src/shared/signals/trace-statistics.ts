/** Sums over traces on one grid. NaN steps are left out in pairs; too few pairs give NaN. Pure. */
import { median } from "../kernel/statistics.ts";

const LEAST_PAIRS = 40;

/** Fills gaps of up to `longest` steps with the value before. */
export function holdFilled(trace: ArrayLike<number>, longest: number): Float64Array {
  const filled = Float64Array.from(trace);
  let since = Infinity;
  for (let i = 0; i < filled.length; i++) {
    if (!Number.isNaN(filled[i])) since = 0;
    else if (since < longest) {
      filled[i] = filled[i - 1];
      since += 1;
    }
  }
  return filled;
}

/** Central difference over +-`reach` steps of `stepS`. */
export function slopeOf(trace: Float64Array, reach: number, stepS: number): Float64Array {
  return Float64Array.from(trace, (_, i) =>
    i < reach || i + reach >= trace.length ? Number.NaN : (trace[i + reach] - trace[i - reach]) / (2 * reach * stepS),
  );
}

/** Correlation of x with y `shift` steps later, and the slope of y over x (a line through both means). */
export function correlate(x: ArrayLike<number>, y: ArrayLike<number>, shift = 0): { r: number; slope: number } {
  let n = 0;
  let sx = 0;
  let sy = 0;
  let sxx = 0;
  let syy = 0;
  let sxy = 0;
  const from = Math.max(0, -shift);
  const to = Math.min(x.length, y.length - shift);
  for (let i = from; i < to; i++) {
    const a = x[i];
    const b = y[i + shift];
    if (Number.isNaN(a) || Number.isNaN(b)) continue;
    n += 1;
    sx += a;
    sy += b;
    sxx += a * a;
    syy += b * b;
    sxy += a * b;
  }
  if (n < LEAST_PAIRS) return { r: Number.NaN, slope: Number.NaN };
  const vx = sxx - (sx * sx) / n;
  const vy = syy - (sy * sy) / n;
  const cov = sxy - (sx * sy) / n;
  const tiny = 1e-12;
  if (vx <= tiny * sxx || vy <= tiny * syy) return { r: 0, slope: 0 };
  return { r: cov / Math.sqrt(vx * vy), slope: cov / vx };
}

/** Median of the finite values; NaN if there are fewer than `least`. */
export function medianOfEnough(values: ArrayLike<number>, least = LEAST_PAIRS): number {
  const finite = Float64Array.from(values).filter(Number.isFinite);
  return finite.length < least ? Number.NaN : median(finite);
}

/** Mean of the finite values where `holds`; NaN if there are none. */
export function meanWhere(values: ArrayLike<number>, holds: (index: number) => boolean): number {
  let sum = 0;
  let n = 0;
  for (let i = 0; i < values.length; i++) {
    if (Number.isNaN(values[i]) || !holds(i)) continue;
    sum += values[i];
    n += 1;
  }
  return n === 0 ? Number.NaN : sum / n;
}
