/**
 * Compares undriven with driven wheels, both on the bus clock. Gives the driven radius in sensor units and slip per Nm, independent of the
 * receiver and its delay, and each sensor's scale and threshold. Null when there is no gentle driving with the sensors.
 */
import { median, SIGMA_PER_MAD } from "../kernel/statistics.ts";
import { linearLeastSquares } from "../kernel/linear-least-squares.ts";
import type { TimedColumn } from "./aligned-recording.ts";
import { type DriveGrid, GRID_STEP_S } from "./drive-grid.ts";
import { bentTorque, bentTorqueByBend, openAtZeroForce, SLIP_BEND, SLIP_BEND_SIGMA, TWIST, TWIST_SIGMA } from "./slip-curve.ts";

/** Every fifth grid point: frames are not so frequent, so nearer points repeat each other. */
const STRIDE = 5;
const LEAST_POINTS = 60;
/**
 * Driving force over axle load. These sensors are precise enough to see more than one term of the slip curve's bend, so only its beginning
 * is used.
 */
const MOST_LOAD_SHARE = 0.2;
const OUTLIER_SIGMAS = 4;
/** A residual below this share of speed is never an outlier: the slip curve's own shape must not be trimmed away as noise. */
const OUTLIER_LEAST_SHARE = 0.002;
/**
 * Gear loss of 1.5 % of slip, driving and braking, is known to about half (from memory); 0.9 % covers 95 % of both generators' cars. See
 * openAtZeroForce().
 */
const LOSS_SHARE = 0.009;
/** Share of the slip slope that stays uncertain. */
const SLIP_MODEL_ERROR = 0.04;

export interface UndrivenMean {
  /** Mean of the sensors in the unit of the first one; NaN where one of them is unknown. */
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
    const spread = SIGMA_PER_MAD * median(ratios.map((ratio) => Math.abs(ratio - centre)));
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
 * Fits mean = perSpin x (spin - twist) / (1 + slip x bent torque) on gentle driving. Outliers are left out and correlated noise is allowed
 * for. The slip curve's bend and the shafts' twist have priors from what is known of tyres and shafts.
 */
export function fitDrivenRatio(grid: DriveGrid, mean: Float64Array): DrivenRatio | null {
  let places: number[] = [];
  for (let i = 0; i < grid.count; i += STRIDE) {
    const easy = grid.loadShare[i] < MOST_LOAD_SHARE && Number.isFinite(grid.twistNmps[i]);
    if (grid.gentle[i] === 1 && easy && Number.isFinite(mean[i])) places.push(i);
  }
  let [slip, bend, twist, variance] = [0, SLIP_BEND, TWIST, Number.NaN];
  let answer: DrivenRatio | null = null;
  for (let pass = 0; pass < 6; pass++) {
    const n = places.length;
    if (n < LEAST_POINTS) return null;
    const y = new Float64Array(n + 2);
    const columns = [0, 1, 2, 3].map(() => new Float64Array(n + 2));
    places.forEach((i, k) => {
      // Gauss-Newton around the present slip, bend and twist; the model is linear in the scale.
      const force = bentTorque(grid.slipTorqueNm[i], grid.loadShare[i], bend);
      const lessened = 1 + slip * force;
      const rolled = (grid.spin[i] - twist * grid.twistNmps[i]) / lessened;
      y[k] = mean[i];
      columns[0][k] = rolled;
      columns[1][k] = (-rolled * force) / lessened;
      columns[2][k] = (-rolled * slip * bentTorqueByBend(grid.slipTorqueNm[i], grid.loadShare[i], bend)) / lessened;
      columns[3][k] = -grid.twistNmps[i] / lessened;
    });
    const perSpinBefore = answer?.perSpin ?? 1;
    if (Number.isFinite(variance)) {
      // These steps are multiplied by the scale, as is every column but the first.
      const sigma = Math.sqrt(variance);
      const bendWeight = sigma / (SLIP_BEND_SIGMA * perSpinBefore);
      columns[2][n] = bendWeight;
      y[n] = bendWeight * perSpinBefore * (SLIP_BEND - bend);
      const twistWeight = sigma / (TWIST_SIGMA * perSpinBefore);
      columns[3][n + 1] = twistWeight;
      y[n + 1] = twistWeight * perSpinBefore * (TWIST - twist);
    }
    const used = Number.isFinite(variance) ? columns : columns.slice(0, 2);
    const fit = linearLeastSquares(used, y);
    const count = used.length;
    const perSpin = fit.coefficients[0];
    const residuals = y.map((value, k) => used.reduce((rest, column, j) => rest - column[k] * fit.coefficients[j], value)).subarray(0, n);
    variance = (residuals.reduce((sum, value) => sum + value * value, 0) / (n - count)) * varianceInflation(residuals, places);
    slip += fit.coefficients[1] / perSpin;
    if (count > 2) {
      bend += fit.coefficients[2] / perSpin;
      twist += fit.coefficients[3] / perSpin;
    }
    const rms = (value: (i: number) => number) => Math.sqrt(places.reduce((sum, i) => sum + value(i) ** 2, 0) / n);
    const open = openAtZeroForce(slip * rms((i) => grid.slipTorqueNm[i]), bend * rms((i) => grid.loadShare[i]), LOSS_SHARE);
    answer = {
      perSpin,
      perSpinSigma: Math.hypot(Math.sqrt(variance * fit.inverseGram[0]), perSpin * open),
      slipPerNm: slip,
      slipSigma: Math.hypot(Math.sqrt(variance * fit.inverseGram[count + 1]) / perSpin, SLIP_MODEL_ERROR * slip),
      correlation: fit.inverseGram[1] / Math.sqrt(fit.inverseGram[0] * fit.inverseGram[count + 1]),
    };
    const sigma = SIGMA_PER_MAD * median(Array.from(residuals, Math.abs));
    const kept = places.filter((_, k) => Math.abs(residuals[k]) <= Math.max(OUTLIER_SIGMAS * sigma, OUTLIER_LEAST_SHARE * y[k]));
    if (kept.length === places.length && pass >= 3) break;
    places = kept;
  }
  return answer;
}

/** By how much correlation raises the variance: a correlated residual needs more observations than a white one. */
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

/** A wheel that comes to rest passes through all speeds; a sensor that shows them steps by less than this between two frames. */
const BLIND_FROM_MPS = 0.2;

/**
 * Least speed that the sensors show while the car is known to move slower (without motor speed: probably moves slower). 0 where they show
 * all speeds.
 */
export function undrivenThresholdMps(sensor: TimedColumn, scale: number, grid: DriveGrid, radiusM: number): number {
  let zeroOnTheMove = false;
  let zeros = false;
  let least = Infinity;
  for (let k = 0; k < sensor.tS.length; k++) {
    const value = sensor.value[k];
    if (value > 0 && value < least) least = value;
    if (value !== 0) continue;
    zeros = true;
    const i = Math.round((sensor.tS[k] - grid.startS) / GRID_STEP_S);
    const wheelMps = i >= 0 && i < grid.count ? grid.spin[i] * radiusM : 0;
    // A driven wheel can spin on the spot, but not gently: this needs torque near zero.
    if (wheelMps > 0.2 && wheelMps < 3) zeroOnTheMove = true;
  }
  // Without motor speed nothing shows that the car moved while a sensor read 0. Then a high least reading is itself the sign.
  const blind = zeroOnTheMove || (!grid.known.motorSpeed && zeros && least * scale > BLIND_FROM_MPS);
  return blind && Number.isFinite(least) ? least * scale : 0;
}
