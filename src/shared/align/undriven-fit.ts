/**
 * Undriven wheels against driven ones, both on the bus clock: the driven radius in sensor units and slip per Nm, free of
 * the receiver and its delay. Also each sensor's own scale and threshold. Null when sensors and gentle driving never met.
 */
import { linearLeastSquares } from "../kernel/linear-least-squares.ts";
import type { TimedColumn } from "./aligned-recording.ts";
import { type DriveGrid, GRID_STEP_S } from "./drive-grid.ts";
import { SLIP_BEND, SLIP_BEND_SIGMA } from "./speed-fit.ts";

/** Every fifth grid point: faster frames repeat themselves. */
const STRIDE = 5;
const LEAST_POINTS = 60;
/** Driving force over axle load: sensors this good see the slip curve bend, so only its beginning is used. */
const MOST_LOAD_SHARE = 0.3;
const OUTLIER_SIGMAS = 4;
/** Never an outlier below this share of speed: the slip curve's own shape is not noise to be trimmed away. */
const OUTLIER_LEAST_SHARE = 0.002;
/** Share by which slip may part from a straight line in force; keeps intervals honest. */
const MODEL_ERROR = 4e-4;
/** The same for the slope itself. */
const SLIP_MODEL_ERROR = 0.04;

export interface UndrivenMean {
  /** Mean of the sensors, each first brought to the first one's unit; NaN where fewer than all are known. */
  readonly mean: Float64Array;
  /** Unit of the mean per unit of each sensor. */
  readonly relative: readonly number[];
  readonly relativeSigma: readonly number[];
}

/** Brings sensors to a common unit and averages them. */
export function averageUndriven(grid: DriveGrid): UndrivenMean | null {
  const sensors = grid.undriven;
  if (sensors.length === 0) return null;
  const relative: number[] = [];
  const relativeSigma: number[] = [];
  for (const sensor of sensors) {
    const ratios: number[] = [];
    for (let i = 0; i < grid.count; i += STRIDE) {
      if (grid.gentle[i] === 1 && Number.isFinite(sensor[i]) && Number.isFinite(sensors[0][i])) ratios.push(sensors[0][i] / sensor[i]);
    }
    if (ratios.length < LEAST_POINTS) return null;
    const centre = median(ratios);
    const spread = 1.4826 * median(ratios.map((ratio) => Math.abs(ratio - centre)));
    relative.push(centre);
    relativeSigma.push(spread / Math.sqrt(ratios.length * (STRIDE * GRID_STEP_S)));
  }
  const mean = new Float64Array(grid.count);
  for (let j = 0; j < sensors.length; j++) for (let i = 0; i < grid.count; i++) mean[i] += (sensors[j][i] * relative[j]) / sensors.length;
  return { mean, relative, relativeSigma };
}

export interface DrivenRatio {
  /** Undriven mean's units per rad/s of the driven wheel at zero force. */
  readonly perSpin: number;
  readonly perSpinSigma: number;
  readonly slipPerNm: number;
  readonly slipSigma: number;
  readonly correlation: number;
}

/**
 * Fits mean = perSpin x spin / (1 + slip x (torque + bend x ...)) over gentle driving: outliers left out, correlated noise
 * allowed for, the bend of the slip curve held to what is known of tyres.
 */
export function fitDrivenRatio(grid: DriveGrid, mean: Float64Array): DrivenRatio | null {
  let places: number[] = [];
  for (let i = 0; i < grid.count; i += STRIDE) {
    const easy = Math.abs(grid.bendNm[i]) < MOST_LOAD_SHARE * Math.abs(grid.slipTorqueNm[i]) || grid.slipTorqueNm[i] === 0;
    if (grid.gentle[i] === 1 && easy && Number.isFinite(mean[i])) places.push(i);
  }
  let [slip, bend, variance] = [0, SLIP_BEND, Number.NaN];
  let answer: DrivenRatio | null = null;
  for (let pass = 0; pass < 6; pass++) {
    const n = places.length;
    if (n < LEAST_POINTS) return null;
    const y = new Float64Array(n + 1);
    const columns = [0, 1, 2].map(() => new Float64Array(n + 1));
    places.forEach((i, k) => {
      // Gauss-Newton about the present slip and bend, the scale entering straight.
      const force = grid.slipTorqueNm[i] + bend * grid.bendNm[i];
      const rolled = grid.spin[i] / (1 + slip * force);
      y[k] = mean[i];
      columns[0][k] = rolled;
      columns[1][k] = (-rolled * force) / (1 + slip * force);
      columns[2][k] = (-rolled * slip * grid.bendNm[i]) / (1 + slip * force);
    });
    const perSpinBefore = answer?.perSpin ?? 1;
    if (Number.isFinite(variance)) {
      // The bend's step comes multiplied by the scale, as every column but the first does.
      const weight = Math.sqrt(variance) / (SLIP_BEND_SIGMA * perSpinBefore);
      columns[2][n] = weight;
      y[n] = weight * perSpinBefore * (SLIP_BEND - bend);
    }
    const used = Number.isFinite(variance) ? columns : columns.slice(0, 2);
    const fit = linearLeastSquares(used, y);
    const count = used.length;
    const perSpin = fit.coefficients[0];
    const residuals = y.map((value, k) => used.reduce((rest, column, j) => rest - column[k] * fit.coefficients[j], value)).subarray(0, n);
    variance = (residuals.reduce((sum, value) => sum + value * value, 0) / (n - count)) * varianceInflation(residuals, places);
    slip += fit.coefficients[1] / perSpin;
    if (count === 3) bend += fit.coefficients[2] / perSpin;
    answer = {
      perSpin,
      perSpinSigma: Math.hypot(Math.sqrt(variance * fit.inverseGram[0]), perSpin * MODEL_ERROR),
      slipPerNm: slip,
      slipSigma: Math.hypot(Math.sqrt(variance * fit.inverseGram[count + 1]) / perSpin, SLIP_MODEL_ERROR * slip),
      correlation: fit.inverseGram[1] / Math.sqrt(fit.inverseGram[0] * fit.inverseGram[count + 1]),
    };
    const sigma = 1.4826 * median(Array.from(residuals, Math.abs));
    const kept = places.filter((_, k) => Math.abs(residuals[k]) <= Math.max(OUTLIER_SIGMAS * sigma, OUTLIER_LEAST_SHARE * y[k]));
    if (kept.length === places.length && pass >= 3) break;
    places = kept;
  }
  return answer;
}

/** How much longer a correlated residual must be watched than a white one. */
function varianceInflation(residuals: Float64Array, places: readonly number[]): number {
  let own = 0;
  for (const value of residuals) own += value * value;
  let inflation = 1;
  for (let lag = 1; lag <= 100; lag++) {
    let cross = 0;
    for (let k = lag; k < residuals.length; k++)
      if (places[k] - places[k - lag] === lag * STRIDE) cross += residuals[k] * residuals[k - lag];
    const correlation = cross / own;
    if (!(correlation > 0.03)) break;
    inflation += 2 * correlation;
  }
  return inflation;
}

/** Least speed the sensors show while the car is known to move slower; 0 where they never read 0 on the move. */
export function undrivenThresholdMps(sensor: TimedColumn, scale: number, grid: DriveGrid, radiusM: number): number {
  let zeroOnTheMove = false;
  let least = Infinity;
  for (let k = 0; k < sensor.tS.length; k++) {
    const value = sensor.value[k];
    if (value > 0 && value < least) least = value;
    if (value !== 0) continue;
    const i = Math.round((sensor.tS[k] - grid.startS) / GRID_STEP_S);
    const wheelMps = i >= 0 && i < grid.count ? grid.spin[i] * radiusM : 0;
    // A driven wheel can spin on the spot, but not gently: torque near nothing.
    if (wheelMps > 0.2 && wheelMps < 3) zeroOnTheMove = true;
  }
  return zeroOnTheMove && Number.isFinite(least) ? least * scale : 0;
}

export function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[sorted.length >> 1];
}
