/**
 * The least standard deviation any unbiased estimator can have (Cramer-Rao), from the true motion and the true noise:
 * for radius, delay and slip stiffness over the gentle drive, and for the 0-60 mph time of a launch in the design's stated family
 * (start, ramp, torque and power limit, drag, rolling resistance, slip stiffness, delay, radius unknown), and the slip's bend. How late torque
 * is reported is no parameter: it is the same in every drive of the second car, and where the delay is free it moves start and gate alike, so
 * that leaving it open raises the bound by less than one in a hundred. Throws where a launch never reaches 60 mph.
 */
import { nonlinearLeastSquares } from "../../src/shared/kernel/nonlinear-least-squares.ts";
import { at } from "../support/second-car/dynamics.ts";
import type { SecondCarDrive } from "../support/second-car/second-car.ts";
import type { TrueLaunch } from "../support/second-car/truth.ts";
import { covarianceOf, information, type NoiseLevels, type Observed, sigmaOf } from "./information.ts";

const AIR = 1.2;
const G = 9.80665;
const MOVING_MPS = 0.5 / 3.6;
const SIXTY_MPS = 60 * 0.44704;
/** Below this many standard deviations a receiver's speed is the length of a noisy vector: it gives no information about a start. */
const LEAST_SEEN_SIGMAS = 3;
/** The classes' ramps run evenly from 0.1 to 0.6 s: their logarithm has this standard deviation. */
const LOG_RAMP_SIGMA = 0.48;

/** Noise of the printed speed: the receiver's own, with the variance of rounding (step^2 / 12). */
function receiverNoise(drive: SecondCarDrive): NoiseLevels {
  const { whiteMps, correlatedMps, correlationS } = drive.recipe.receiver;
  return { whiteMps: Math.hypot(whiteMps, drive.receiver.stepMps / Math.sqrt(12)), correlatedMps, correlationS };
}

export interface CalibrationBound {
  /** Covariance of [relative radius (or undriven scale), delay s, slip ratio per newton]. */
  readonly covariance: Float64Array;
  readonly radiusShare: number;
  readonly delayS: number;
}

/** Epoch instants on drive time (the moment the car had the speed), inside a span. */
function seenTimes(drive: SecondCarDrive, fromS: number, toS: number): number[] {
  const { epochs } = drive.receiver;
  const { clockPpm, transportS, lagS, ageS, holdBelowMps } = drive.recipe.receiver;
  const first = epochs.reduce((least, e) => Math.min(least, e.arrivalS - (e.utcMs - epochs[0].utcMs) / 1000), Number.POSITIVE_INFINITY);
  const zero = first - transportS - ageS - lagS;
  const times = epochs.map((e) => zero + ((e.utcMs - epochs[0].utcMs) / 1000) * (1 + clockPpm * 1e-6));
  const noise = receiverNoise(drive);
  // A receiver that holds its speed at 0 shows nothing below that either.
  const least = Math.max(holdBelowMps, LEAST_SEEN_SIGMAS * Math.hypot(noise.whiteMps, noise.correlatedMps));
  return times.filter((t) => t > fromS && t < toS && at(drive.trace, drive.trace.speedMps, t) > least);
}

/** Bound for the gentle drive: slip stiffness counts as unknown only where motor speed alone stands beside the receiver. */
export function calibrationBound(drive: SecondCarDrive): CalibrationBound {
  const span = drive.trace.phases.find((p) => p.phase.kind === "gentle");
  if (span === undefined) throw new RangeError("Calibration bound: the drive has no gentle phase");
  const { trace, recipe } = drive;
  const tS = seenTimes(drive, span.fromS + 1, span.toS).filter((t) => at(trace, trace.speedMps, t) > 4);
  const speed = Float64Array.from(tS, (t) => at(trace, trace.speedMps, t));
  const slope = Float64Array.from(tS, (t) => -(at(trace, trace.speedMps, t + 0.02) - at(trace, trace.speedMps, t - 0.02)) / 0.04);
  // Undriven wheels do not slip; torque through the mass of a car on a level road tells how much driven ones do.
  const slipKnown = recipe.bus.undriven || recipe.bus.torque;
  const force = Float64Array.from(tS, (_, k) => {
    const v = speed[k];
    const newtons = recipe.car.massKg * (-slope[k] + G * recipe.car.rollingResistance) + 0.5 * AIR * recipe.car.dragAreaM2 * v * v;
    return slipKnown ? 0 : -v * newtons * 1e-3;
  });
  const prior = new Float64Array(9);
  // Slip per kilonewton: tyres lie between 0 and 0.02, so its prior is no information in practice but keeps the matrix regular.
  prior[8] = 1 / 0.02 ** 2;
  const covariance = covarianceOf(information(3, [{ tS, columns: [speed, slope, force], noise: receiverNoise(drive) }], prior), 3);
  return { covariance, radiusShare: Math.sqrt(covariance[0]), delayS: Math.sqrt(covariance[4]) };
}

/** theta: start s, log ramp, log tractive limit m/s2, log power W/kg, log drag 1/m. Speed each millisecond from `fromS`. */
function familySpeed(theta: ArrayLike<number>, rolling: number, fromS: number, count: number): { speed: Float64Array; push: Float64Array } {
  const [start, ramp, limit, power, drag] = [theta[0], Math.exp(theta[1]), Math.exp(theta[2]), Math.exp(theta[3]), Math.exp(theta[4])];
  const speed = new Float64Array(count);
  const push = new Float64Array(count);
  const tractive = (t: number, v: number): number => {
    const age = (t - start) / ramp;
    if (age <= 0) return 0;
    // A power limit that rounds off instead of a corner keeps the derivatives smooth: fourth-power blend.
    const low = limit * Math.min(1, age);
    return v < 0.5 ? low : low / (1 + ((low * v) / power) ** 8) ** 0.125;
  };
  let v = 0;
  for (let i = 0; i < count; i += 1) {
    const t = fromS + i * 1e-3;
    speed[i] = v;
    push[i] = tractive(t, v);
    const slope = (tt: number, vv: number): number => Math.max(vv > 0 ? -9 : 0, tractive(tt, vv) - rolling - drag * vv * vv);
    v = Math.max(0, v + 1e-3 * slope(t + 5e-4, v + 5e-4 * slope(t, v)));
  }
  return { speed, push };
}

function lineAt(column: Float64Array, x: number): number {
  const i = Math.max(0, Math.min(column.length - 2, Math.floor(x)));
  return column[i] + (x - i) * (column[i + 1] - column[i]);
}

function sixtySeconds(speed: Float64Array): number {
  let last = Number.NaN;
  for (let i = 1; i < speed.length; i += 1) {
    if (speed[i - 1] < MOVING_MPS && speed[i] >= MOVING_MPS) last = i - 1 + (MOVING_MPS - speed[i - 1]) / (speed[i] - speed[i - 1]);
    if (speed[i - 1] < SIXTY_MPS && speed[i] >= SIXTY_MPS)
      return (i - 1 + (SIXTY_MPS - speed[i - 1]) / (speed[i] - speed[i - 1]) - last) * 1e-3;
  }
  throw new RangeError("Launch bound: the fitted launch never reaches 60 mph");
}

export interface LaunchSources {
  readonly undriven: boolean;
  readonly torque: boolean;
  readonly motorSpeed: boolean;
}

const KERNEL = 5;
/** Rolling resistance, m/s2, stands after the family's own. */
const ROLLING = KERNEL;
const MOTION = KERNEL + 1;
/** At 4 m/s2 no tooth of a wheel with 48 teeth has passed below this speed, so there is no measurement. */
const LEAST_WHEEL_MPS = 0.3;
const LEAST_MOTOR_MPS = 0.2;
/**
 * A road tyre's slip for each m/s2 of a rear-driven car, and by how much its growth with force may bend: the design's family has one slip
 * stiffness, published curves (Burckhardt, Magic Formula) bend by 7 to 12 per unit of slip, and none can be told beforehand.
 */
const SLIP_PER_MPS2 = 0.005;
const SLIP_BEND_SIGMA = 6;
/** The second car draws its rolling resistance evenly from 0.009 to 0.014 of the weight; no set-up states it. */
const ROLLING_SIGMA_MPS2 = ((0.014 - 0.009) / Math.sqrt(12)) * G;
const ROLLING_STEP_MPS2 = 1e-3;

/** Family member nearest to the true launch. */
function nearest(
  drive: SecondCarDrive,
  launch: TrueLaunch,
  endS: number,
): { theta: Float64Array; rolling: number; fromS: number; count: number } {
  const { car } = drive.recipe;
  const rolling = G * car.rollingResistance;
  const fromS = launch.fromS - 0.2;
  const count = Math.round((endS - fromS) * 1000) + 200;
  const rows = Math.floor((endS - fromS) / 0.01);
  const truth = Float64Array.from({ length: rows }, (_, i) => at(drive.trace, drive.trace.speedMps, fromS + i * 0.01));
  const limit = 6 / Math.max(1e-3, rows) + (15 - 2) / ((truth.findIndex((v) => v > 15) - truth.findIndex((v) => v > 2)) * 0.01);
  const fit = nonlinearLeastSquares({
    start: [
      launch.movementS - 0.05,
      Math.log(0.3),
      Math.log(limit + 0.2),
      Math.log(limit * 22),
      Math.log((0.5 * AIR * car.dragAreaM2) / car.massKg),
    ],
    rows,
    maxIterations: 40,
    tolerance: 1e-6,
    evaluate: (theta, residuals, derivatives) => {
      const base = familySpeed(theta, rolling, fromS, count).speed;
      derivatives.forEach((column, j) => {
        const moved = Float64Array.from(theta);
        moved[j] += 1e-3;
        const there = familySpeed(moved, rolling, fromS, count).speed;
        for (let i = 0; i < rows; i += 1) column[i] = (there[i * 10] - base[i * 10]) / 1e-3;
      });
      for (let i = 0; i < rows; i += 1) residuals[i] = truth[i] - base[i * 10];
    },
  });
  // A ramp fitted as a jump would seem exactly known: on a log scale its effect vanishes. 0.1 s is the shortest of the classes.
  fit.parameters[1] = Math.max(fit.parameters[1], Math.log(0.1));
  return { theta: fit.parameters, rolling, fromS, count };
}

/** Bound on the standard deviation of the 0-60 mph time, s, from the named sources; the calibration drive's information counts where there is one. */
export function launchBound(drive: SecondCarDrive, launch: TrueLaunch, sources: LaunchSources): number {
  const { recipe, trace } = drive;
  const endS = trace.phases.find((p) => p.fromS === launch.fromS)?.toS ?? launch.toS;
  const { theta, rolling, fromS, count } = nearest(drive, launch, endS);
  const base = familySpeed(theta, rolling, fromS, count);
  // Parameters of the motion: the family's five and rolling resistance. After them: delay s, log wheel scale (undriven), log radius, slip per
  // m/s2, log newtons per newton metre, and how the tyre's slip bends with force, which every tyre does and no calibration drive shows.
  const n = MOTION + 6;
  const moved = Array.from({ length: MOTION }, (_, j) => {
    const [up, down] = [1, -1].map((sign) => {
      const trial = Float64Array.from(theta);
      if (j < KERNEL) trial[j] += sign * 1e-3;
      return familySpeed(trial, j === ROLLING ? rolling + sign * ROLLING_STEP_MPS2 : rolling, fromS, count);
    });
    return { up, down, twice: 2 * (j === ROLLING ? ROLLING_STEP_MPS2 : 1e-3) };
  });
  const part = (j: number, kind: "speed" | "push", x: number): number =>
    (lineAt(moved[j].up[kind], x) - lineAt(moved[j].down[kind], x)) / moved[j].twice;
  const observed: Observed[] = [];
  const add = (tS: readonly number[], noise: NoiseLevels, derivative: (j: number, x: number) => number): void => {
    const columns = Array.from({ length: n }, (_, j) => Float64Array.from(tS, (t) => derivative(j, (t - fromS) * 1000)));
    observed.push({ tS, columns, noise });
  };
  const white = (sigma: number): NoiseLevels => ({ whiteMps: sigma, correlatedMps: 0, correlationS: 0 });
  const epochs = seenTimes(drive, launch.fromS, endS);
  add(epochs, receiverNoise(drive), (j, x) => {
    if (j < MOTION) return part(j, "speed", x);
    return j === MOTION ? -(lineAt(base.speed, x + 5) - lineAt(base.speed, x - 5)) / 0.01 : 0;
  });
  const ticks = Array.from(
    { length: Math.floor((endS - launch.fromS) * recipe.bus.rateHz) },
    (_, i) => launch.fromS + i / recipe.bus.rateHz,
  );
  const faster = (least: number): number[] => ticks.filter((t) => lineAt(base.speed, (t - fromS) * 1000) > least);
  if (sources.undriven) {
    const sigma = Math.hypot(recipe.bus.wheelNoiseMps, recipe.bus.wheelStepKmh / 3.6 / Math.sqrt(12)) / Math.SQRT2;
    add(faster(Math.max(LEAST_WHEEL_MPS, recipe.bus.undrivenThresholdMps)), white(sigma), (j, x) =>
      j < MOTION ? part(j, "speed", x) : j === MOTION + 1 ? lineAt(base.speed, x) : 0,
    );
  }
  if (sources.motorSpeed) {
    const sigma = (Math.hypot(0.3, 1 / Math.sqrt(12)) * Math.PI * recipe.car.rollingRadiusM) / 30 / recipe.car.gearRatio;
    add(faster(LEAST_MOTOR_MPS), white(sigma), (j, x) => {
      const v = lineAt(base.speed, x);
      if (j < MOTION) return part(j, "speed", x);
      const push = lineAt(base.push, x);
      const bend = (SLIP_PER_MPS2 * push) ** 2;
      return j === MOTION + 2 ? -v : j === MOTION + 3 ? v * push : j === MOTION + 5 ? v * bend : 0;
    });
  }
  if (sources.torque) {
    const perNm = recipe.car.gearRatio / recipe.car.rollingRadiusM / recipe.car.massKg;
    add(ticks, white(0.3 * perNm), (j, x) => (j < MOTION ? part(j, "push", x) : j === MOTION + 4 ? lineAt(base.push, x) : 0));
  }
  const prior = priorOf(drive, n);
  const seconds = sixtySeconds(base.speed);
  const gradient = new Float64Array(n);
  for (let j = 0; j < MOTION; j += 1) gradient[j] = (sixtySeconds(moved[j].up.speed) - sixtySeconds(moved[j].down.speed)) / moved[j].twice;
  if (!(seconds > 0)) throw new RangeError(`Launch bound: 0-60 mph of the fitted launch is ${seconds} s`);
  return sigmaOf(gradient, covarianceOf(information(n, observed, prior), n));
}

/** What the gentle drive knew of delay, scale, radius and slip; wide values where there was none. Mass is weighed to 1 %. */
function priorOf(drive: SecondCarDrive, n: number): Float64Array {
  const prior = new Float64Array(n * n);
  const gentle = drive.trace.phases.some((p) => p.phase.kind === "gentle");
  const { undriven, motorSpeed } = drive.recipe.bus;
  // The receiver alone cannot be calibrated against anything; torque alone is reported a few milliseconds late, by an unknown amount.
  const known = gentle && (undriven || motorSpeed) ? calibrationBound(drive) : null;
  const put = (k: number, sigma: number): void => {
    prior[k * n + k] = 1 / sigma ** 2;
  };
  for (let k = 0; k < KERNEL; k += 1) put(k, k === 1 ? LOG_RAMP_SIGMA : 3);
  put(ROLLING, ROLLING_SIGMA_MPS2);
  put(MOTION, known?.delayS ?? 0.1);
  put(MOTION + 1, known?.radiusShare ?? 0.02);
  put(MOTION + 2, known?.radiusShare ?? 0.02);
  put(MOTION + 3, 0.01);
  put(MOTION + 4, 0.01);
  put(MOTION + 5, SLIP_BEND_SIGMA);
  return prior;
}
