/**
 * The launch's speed curve for given parameters: model plus disturbance, zero where the car stood, with derivatives. Pure arithmetic on a
 * 10 ms grid; never fails.
 */
import type { FitInput } from "./launch-fit.ts";
import { GRID_S } from "./launch-model.ts";

const LEAST_ACCELERATION = 0.3;
/** Grid points. A control can cut torque for some hundredths of a second in the first metre (common practice, no source). */
const LONGEST_PAUSE = 15;
/** More push than the noise of torque gives a standing car, and far less than a launch. */
const LEAST_PUSH_MPS2 = 0.5;

/** Index of each parameter in the vector. */
export interface Layout {
  readonly delay: number;
  /** Half the square of the lag of the receiver's own filter, s2. */
  readonly filter: number;
  readonly sensorScale: readonly number[];
  readonly sensorSlip: readonly number[];
  readonly sensorBend: readonly number[];
  readonly sensorWind: readonly number[];
  readonly knots: number;
  readonly total: number;
  readonly knotTimes: readonly number[];
  /** Over which grid points each knot's disturbance reaches, and its share of each of them. */
  readonly hats: readonly { readonly low: number; readonly high: number; readonly share: Float64Array }[];
}

export function layOut(input: FitInput): Layout {
  const { model } = input;
  let next = model.parameters.length + 2;
  const sensorScale: number[] = [];
  const sensorSlip: number[] = [];
  const sensorBend: number[] = [];
  const sensorWind: number[] = [];
  for (const sensor of input.sensors) {
    sensorScale.push(next++);
    sensorSlip.push(sensor.slip ? next++ : -1);
    sensorBend.push(sensor.slip ? next++ : -1);
    sensorWind.push(sensor.wind ? next++ : -1);
  }
  const end = model.grid.fromS + (model.grid.count - 1) * GRID_S;
  const knotTimes: number[] = [];
  const first = input.onsetS;
  for (let t = first; t < end + 0.4; t += t < first + 0.55 ? 0.1 : t < first + 2 ? 0.2 : 0.4) knotTimes.push(t);
  const delay = model.parameters.length;
  return {
    delay,
    filter: delay + 1,
    sensorScale,
    sensorSlip,
    sensorBend,
    sensorWind,
    knots: next,
    total: next + knotTimes.length,
    knotTimes,
    hats: knotTimes.map((_, k) => {
      const [low, high] = knotSpan(knotTimes, model.grid, k);
      const share = new Float64Array(Math.max(0, high - low + 1));
      for (let i = low; i <= high; i++) share[i - low] = hat(knotTimes, k, model.grid.fromS + (i - 0.5) * GRID_S);
      return { low, high, share };
    }),
  };
}

/** Speed, acceleration and the change of speed with each parameter, on the grid. */
export interface Curve {
  readonly speed: Float64Array;
  readonly acceleration: Float64Array;
  /** One column for each parameter that changes the curve; null for those of sensors. */
  readonly derivatives: readonly (Float64Array | null)[];
  /** Last grid point without any push, and the speed there before clipping: 0 unless the car was held back. */
  readonly idle: number;
  readonly lowMps: number;
}

/** `withDerivatives` false leaves them out; this is enough to rate a trial step. */
export function curveAt(input: FitInput, layout: Layout, theta: Float64Array, withDerivatives = true): Curve {
  const { model } = input;
  const { grid } = model;
  const n = grid.count;
  const speed = new Float64Array(n);
  const slope = new Float64Array(n);
  const push = new Float64Array(n);
  const anchor = model.drive(theta, speed, slope, push);
  const derivatives: (Float64Array | null)[] = new Array<Float64Array | null>(layout.total).fill(null);
  if (withDerivatives) {
    const trial = Float64Array.from(theta);
    const scratch = new Float64Array(n);
    model.parameters.forEach((parameter, p) => {
      const column = new Float64Array(n);
      const other = new Float64Array(n);
      trial[p] = theta[p] + parameter.difference;
      model.drive(trial, column, null, scratch);
      trial[p] = theta[p] - parameter.difference;
      model.drive(trial, other, null, scratch);
      trial[p] = theta[p];
      for (let i = 0; i < n; i++) column[i] = (column[i] - other[i]) / (2 * parameter.difference);
      derivatives[p] = column;
    });
  }
  const { knotTimes } = layout;
  const weight = new Float64Array(n);
  for (let i = 1; i < n; i++) weight[i] = ((Math.abs(slope[i]) + Math.abs(slope[i - 1])) / 2 + LEAST_ACCELERATION) * GRID_S;
  const rate = new Float64Array(n);
  for (let k = 0; k < knotTimes.length; k++) {
    const value = theta[layout.knots + k];
    const column = withDerivatives ? new Float64Array(n) : null;
    const { low, high, share } = layout.hats[k];
    for (let i = low; i <= high; i++) {
      const part = share[i - low] * weight[i];
      rate[i] += value * part;
      if (column) column[i] = part;
    }
    if (column) {
      integrateFrom(column, anchor);
      derivatives[layout.knots + k] = column;
    }
  }
  integrateFrom(rate, anchor);
  for (let i = 0; i < n; i++) speed[i] += rate[i];
  // Before the anchor: the car stood where the speed falls to 0, and before anything pushed it.
  let idle = Math.min(anchor, n - 1);
  while (idle > 0 && (push[idle] > 0 || isPause(push, idle))) idle--;
  let onset = Math.min(anchor, n - 1);
  while (onset > idle + 1 && speed[onset] > 0) onset--;
  const lowMps = speed[idle];
  for (let i = 0; i < onset; i++) speed[i] = 0;
  for (let i = onset; i < n; i++) if (speed[i] < 0) speed[i] = 0;
  const acceleration = new Float64Array(n);
  slopeInto(speed, acceleration);
  return { speed, acceleration, derivatives, idle, lowMps };
}

/** Nothing pushes at i, but something did just before: a control that cuts the torque does not stop a car that already rolls. */
function isPause(push: Float64Array, i: number): boolean {
  for (let j = i - 1; j >= Math.max(0, i - LONGEST_PAUSE); j--) if (push[j] > LEAST_PUSH_MPS2) return true;
  return false;
}

/** Turns increments (element i: from i - 1 to i) into a sum that is 0 at the anchor, in both directions. */
function integrateFrom(column: Float64Array, anchor: number): void {
  const before = column[anchor];
  column[anchor] = 0;
  let step = before;
  for (let i = anchor - 1; i >= 0; i--) {
    const next = column[i];
    column[i] = column[i + 1] - step;
    step = next;
  }
  for (let i = anchor + 1; i < column.length; i++) column[i] += column[i - 1];
}

function knotSpan(knotTimes: readonly number[], grid: { fromS: number; count: number }, k: number): [number, number] {
  const from = k > 0 ? Math.ceil((knotTimes[k - 1] - grid.fromS) / GRID_S) : 1;
  const to = k + 1 < knotTimes.length ? Math.ceil((knotTimes[k + 1] - grid.fromS) / GRID_S) : grid.count - 1;
  return [Math.max(1, from), Math.min(grid.count - 1, to)];
}

function hat(knotTimes: readonly number[], k: number, t: number): number {
  if (t <= knotTimes[k]) return k > 0 ? Math.max(0, (t - knotTimes[k - 1]) / (knotTimes[k] - knotTimes[k - 1])) : 1;
  return k + 1 < knotTimes.length ? Math.max(0, (knotTimes[k + 1] - t) / (knotTimes[k + 1] - knotTimes[k])) : 1;
}

function slopeInto(speed: Float64Array, slope: Float64Array): void {
  const n = speed.length;
  for (let i = 0; i < n; i++) {
    const low = Math.max(0, i - 1);
    const high = Math.min(n - 1, i + 1);
    slope[i] = (speed[high] - speed[low]) / ((high - low) * GRID_S);
  }
}

/** Value of a grid column at fractional index x, on a straight line. */
export function at(column: Float64Array, x: number): number {
  const i = Math.min(column.length - 2, Math.floor(x));
  return column[i] + (x - i) * (column[i + 1] - column[i]);
}
