/**
 * Linearised equations of one launch fit: derivatives and whitened residuals of every source. Residuals far outside their noise get less
 * weight and are counted in `outliers`; none is dropped.
 */
import type { Curve, Layout } from "./launch-curve.ts";
import type { FitInput } from "./launch-fit.ts";
import { GRID_S } from "./launch-model.ts";

/** Normal equations A x = b of one source, with its whitened cost and number of rows. */
export interface SourceEquations {
  readonly matrix: Float64Array;
  readonly right: Float64Array;
  cost: number;
  rows: number;
  outliers: number;
}

// Scales of undriven wheels and radii change with load and temperature: relative error that is left after scaling.
const SENSOR_FLOOR = 0.0004;
// Error of a tyre slip curve with only one term of curvature, relative to the slip.
const SLIP_SCATTER = 0.1;
// Error of describing the shafts' wind-up (they also swing, and tyres have their own lag) by one number, relative to it.
const WIND_SCATTER = 0.3;
const BEND_REACH_S = 0.05;
const OUTLIER = 3.5;
/** A speed below this many standard deviations of its noise is mostly noise. */
const SLOW = 3;

/** The car did not creep before anything pushed it: its speed before clipping was 0, as one row of unit noise. */
export function standingEquations(layout: Layout, curve: Curve): SourceEquations {
  const columns = curveColumns(curve);
  const out = emptyEquations(layout.total);
  const row = new Float64Array(columns.length + 1);
  for (let c = 0; c < columns.length; c++) row[c] = (curve.derivatives[columns[c]] as Float64Array)[curve.idle];
  row[columns.length] = -curve.lowMps;
  accumulate(out, columns, cellsOf(columns, layout.total), row);
  return out;
}

/** Whitened equations of the receiver: correlated noise by an innovations filter, the delay as a parameter. */
export function epochEquations(input: FitInput, layout: Layout, theta: Float64Array, curve: Curve): SourceEquations {
  const { epochs, model, correlated } = input;
  const size = layout.total;
  const columns = curveColumns(curve);
  if (columns.length > 0) columns.push(layout.delay, layout.filter);
  const shapes = columns.map((p) => curve.derivatives[p]);
  const cells = cellsOf(columns, size);
  const width = columns.length;
  const out = emptyEquations(size);
  const state = new Float64Array(width + 1);
  const row = new Float64Array(width + 1);
  const last = model.grid.count - 1;
  const reach = BEND_REACH_S / GRID_S;
  // What the receiver's own filter does beyond a delay: it smooths bends.
  const filter = theta[layout.filter];
  let variance = correlated.sigma ** 2;
  let previous = Number.NaN;
  for (let e = 0; e < epochs.tS.length; e++) {
    const x = (epochs.tS[e] - theta[layout.delay] - model.grid.fromS) / GRID_S;
    if (x < 0 || x > last) continue;
    const near = { here: placeOf(x, last), before: placeOf(Math.max(0, x - reach), last), after: placeOf(Math.min(last, x + reach), last) };
    const v = Math.max(0, seenAt(curve.speed, near, filter));
    const total = correlated.sigma ** 2 + epochs.whiteVariance[e];
    // Mean length of a vector with noise in two components: sqrt(pi/2) sigma at rest, v + sigma^2 / 2v at speed (Rice).
    const length = Math.sqrt(v * v + (Math.PI / 2) * total);
    const share = v / length;
    for (let c = 0; c < width; c++) {
      const column = shapes[c];
      if (column) row[c] = share * seenAt(column, near, filter);
      else row[c] = share * (columns[c] === layout.delay ? -seenAt(curve.acceleration, near, filter) : bendAt(curve.speed, near));
    }
    row[width] = epochs.speedMps[e] - length;
    const keep = correlated.timeS > 0 && Number.isFinite(previous) ? Math.exp(-(epochs.tS[e] - previous) / correlated.timeS) : 0;
    previous = epochs.tS[e];
    variance = keep * keep * variance + correlated.sigma ** 2 * (1 - keep * keep);
    for (let c = 0; c <= width; c++) state[c] *= keep;
    if (v * v < SLOW * SLOW * total) {
      // Near rest, the length of a noisy vector says nothing about the noise along the road, which later epochs share.
      const scale = 1 / Math.sqrt(total);
      const seen = Math.abs(row[width]) * scale;
      const weight = seen > OUTLIER ? scale * Math.sqrt(OUTLIER / seen) : scale;
      for (let c = 0; c <= width; c++) row[c] *= weight;
      accumulate(out, columns, cells, row);
      continue;
    }
    let white = epochs.whiteVariance[e];
    const seen = Math.abs(row[width] - state[width]) / Math.sqrt(variance + white);
    if (seen > OUTLIER) {
      // Huber: the cost of an outlier grows with its distance, not with its square.
      white = (variance + white) * (seen / OUTLIER) - variance;
      out.outliers++;
    }
    const spread = variance + white;
    const gain = variance / spread;
    const scale = 1 / Math.sqrt(spread);
    for (let c = 0; c <= width; c++) {
      const innovation = row[c] - state[c];
      state[c] += gain * innovation;
      row[c] = innovation * scale;
    }
    variance *= 1 - gain;
    accumulate(out, columns, cells, row);
  }
  return out;
}

/** Whitened equations of the speed sensors on the bus. */
export function sensorEquations(input: FitInput, layout: Layout, theta: Float64Array, curve: Curve): SourceEquations {
  const { model } = input;
  const size = layout.total;
  const last = model.grid.count - 1;
  const curveOnly = curveColumns(curve);
  const shapes = curveOnly.map((p) => curve.derivatives[p]);
  const out = emptyEquations(size);
  input.sensors.forEach((sensor, k) => {
    const columns = [...curveOnly];
    if (curveOnly.length > 0) {
      columns.push(layout.sensorScale[k]);
      if (sensor.slip) columns.push(layout.sensorSlip[k], layout.sensorBend[k], layout.sensorWind[k]);
    }
    const cells = cellsOf(columns, size);
    const row = new Float64Array(columns.length + 1);
    const own = curveOnly.length;
    for (let b = 0; b < sensor.bins.tS.length; b++) {
      const x = (sensor.bins.tS[b] - model.grid.fromS) / GRID_S;
      if (x < 0 || x > last) continue;
      // The place is looked up once for all columns: there are some thirty of them.
      const { i, part } = placeOf(x, last);
      const v = curve.speed[i] + part * (curve.speed[i + 1] - curve.speed[i]);
      const linear = sensor.slip ? sensor.slip[b] : 0;
      // Twice the force gives more than twice the slip.
      const slip = sensor.slip ? linear * (1 + theta[layout.sensorBend[k]] * Math.abs(linear)) : 0;
      const stretch = 1 + theta[layout.sensorScale[k]];
      const moreSlip = sensor.slip ? 1 + theta[layout.sensorSlip[k]] : 1;
      const wind = sensor.wind ? sensor.wind[b] : 0;
      const lead = sensor.wind ? theta[layout.sensorWind[k]] * wind : 0;
      const sigma = Math.hypot(sensor.bins.sigma[b] * sensor.scale, SENSOR_FLOOR * v, SLIP_SCATTER * slip * v, WIND_SCATTER * wind);
      const factor = stretch * (1 + slip * moreSlip);
      for (let c = 0; c < own; c++) {
        const column = shapes[c] as Float64Array;
        row[c] = factor * (column[i] + part * (column[i + 1] - column[i]));
      }
      if (own > 0) row[own] = v * (1 + slip * moreSlip);
      if (own > 0 && sensor.slip) {
        row[own + 1] = stretch * slip * v;
        row[own + 2] = stretch * moreSlip * linear * Math.abs(linear) * v;
        row[own + 3] = wind;
      }
      row[columns.length] = sensor.bins.value[b] * sensor.scale - factor * v - lead;
      let weight = 1 / sigma;
      const seen = Math.abs(row[columns.length]) * weight;
      if (seen > OUTLIER) {
        weight *= Math.sqrt(OUTLIER / seen);
        out.outliers++;
      }
      for (let c = 0; c <= columns.length; c++) row[c] *= weight;
      accumulate(out, columns, cells, row);
    }
  });
  return out;
}

/** A fractional index into a grid column: the point before it, and how far it is on to the next one. */
interface Place {
  readonly i: number;
  readonly part: number;
}

function placeOf(x: number, last: number): Place {
  const i = Math.min(last - 1, Math.floor(x));
  return { i, part: x - i };
}

/** A place, and those a tenth of a second around it: receivers filter over that. */
interface Near {
  readonly here: Place;
  readonly before: Place;
  readonly after: Place;
}

const on = (column: Float64Array, { i, part }: Place) => column[i] + part * (column[i + 1] - column[i]);

/** Second derivative. */
const bendAt = (column: Float64Array, { here, before, after }: Near) =>
  (on(column, before) + on(column, after) - 2 * on(column, here)) / BEND_REACH_S ** 2;

const seenAt = (column: Float64Array, near: Near, filter: number) => on(column, near.here) + filter * bendAt(column, near);

function curveColumns(curve: Curve): number[] {
  const columns: number[] = [];
  for (let p = 0; p < curve.derivatives.length; p++) if (curve.derivatives[p]) columns.push(p);
  return columns;
}

function emptyEquations(size: number): SourceEquations {
  return { matrix: new Float64Array(size * size), right: new Float64Array(size), cost: 0, rows: 0, outliers: 0 };
}

/** Where in the matrix the products of a row's columns belong: of the first with itself, of the second with the first and itself, and so on. */
function cellsOf(columns: readonly number[], size: number): Int32Array {
  const cells = new Int32Array((columns.length * (columns.length + 1)) / 2);
  let next = 0;
  columns.forEach((own, i) => {
    for (let j = 0; j <= i; j++) cells[next++] = Math.max(own, columns[j]) * size + Math.min(own, columns[j]);
  });
  return cells;
}

/** Adds one whitened row; only the lower triangle is filled. */
function accumulate(out: SourceEquations, columns: readonly number[], cells: Int32Array, row: Float64Array): void {
  const { matrix, right } = out;
  const width = columns.length;
  const residual = row[width];
  for (let i = 0; i < width; i++) {
    const value = row[i];
    if (value === 0) continue;
    const first = (i * (i + 1)) / 2;
    for (let j = 0; j <= i; j++) matrix[cells[first + j]] += value * row[j];
    right[columns[i]] += value * residual;
  }
  out.cost += residual * residual;
  out.rows++;
}
