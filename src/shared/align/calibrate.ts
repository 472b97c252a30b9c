/**
 * Finds rolling radius, receiver delay and slip stiffness together from gentle driving in a recording. What the drive
 * cannot tell keeps its set-up value (or the prior calibration's) with a wide interval, and a note says why.
 */
import { KMH_PER_MPS, MPS_PER_KMH } from "../kernel/units.ts";
import type { SetUp } from "../setup/set-up.ts";
import type { AlignedRecording } from "./aligned-recording.ts";
import type { Calibration, Figure, WheelScale } from "./calibration.ts";
import { buildDriveGrid, type DriveGrid, freelyRolling, slopeAt } from "./drive-grid.ts";
import { lineLoadNote } from "./line-load.ts";
import { nominalCalibration } from "./nominal-calibration.ts";
import { fitSpeed, type SpeedFit } from "./speed-fit.ts";
import { averageUndriven, fitDrivenRatio, MODEL_ERROR, median, type UndrivenMean, undrivenThresholdMps } from "./undriven-fit.ts";

const TWO_SIDED_95 = 1.96;
const LEAST_SECONDS = 20;
/** Half widths above which a figure is no better than what the set-up says. */
const USELESS_RADIUS_SHARE = 0.01;
const USELESS_DELAY_S = 0.06;
const SPEED_SPAN_MPS = 40 * MPS_PER_KMH;
/** Share by which a free-rolling tyre's radius may change per m/s2 as load leaves or joins its axle (from memory: radials, under 1e-4). */
const LOAD_RADIUS_SIGMA = 6e-5;
const BEND_SPAN_S = 1.2;
/** Radius of 50 m: there a car's front and rear wheels differ by about a thousandth. */
const MOST_CURVATURE_PER_M = 1 / 50;
/** A radius this far from the set-up's means a wrong ratio, tyre or signal scale more likely than a worn tyre. */
const ODD_RADIUS_SHARE = 0.05;

interface Found {
  readonly fit: SpeedFit;
  readonly parameters: readonly [number, number, number];
  readonly covariance: readonly number[];
  readonly undrivenScale: { readonly value: number; readonly sigma: number } | null;
}

/** Fits one calibration to a whole recording. `prior` is where to start and what to keep if the drive says too little. */
export function calibrate(recording: AlignedRecording, setUp: SetUp, prior: Calibration | null): Calibration {
  const units = (list: readonly { unit: string }[] | undefined) => (list ?? []).map((column) => column.unit);
  const { undrivenWheelSpeeds, drivenWheelSpeeds } = recording.roles;
  const nominal = nominalCalibration(setUp, { undriven: units(undrivenWheelSpeeds), driven: units(drivenWheelSpeeds) });
  const fallback = prior ?? nominal;
  const grid = buildDriveGrid(recording, setUp, fallback.rollingRadiusM.value);
  if (grid === null)
    return refused(fallback, 0, "No motor speed or no delivered torque in this recording: check the signal names in the set-up.");
  const speedMps = usableSpeeds(recording);
  const undriven = averageUndriven(grid);
  const found =
    (undriven === null ? null : fitWithUndriven(recording, grid, undriven, speedMps, fallback)) ??
    fitDriven(recording, grid, speedMps, fallback, nominal);
  if (found === null)
    return refused(
      fallback,
      0,
      `Less than ${LEAST_SECONDS} s of gentle driving with a valid speed: drive steadily above 15 km/h, gently on and off the pedal.`,
    );
  const usedS = secondsUsed(recording, found.fit.epochs);
  if (usedS < LEAST_SECONDS) {
    return refused(
      fallback,
      usedS,
      `Only ${usedS.toFixed(0)} s of gentle driving with a valid speed, ${LEAST_SECONDS} s are needed: drive steadily above 15 km/h, gently on and off the pedal.`,
    );
  }
  return assemble({ recording, setUp, grid, found, undriven, usedS, fallback, nominal });
}

function fitDriven(
  recording: AlignedRecording,
  grid: DriveGrid,
  speedMps: Float64Array,
  fallback: Calibration,
  nominal: Calibration,
): Found | null {
  const fit = fitSpeed({
    grid,
    spin: grid.spin,
    mask: grid.gentle,
    torqueNm: grid.slipTorqueNm,
    driven: true,
    epochS: recording.epochs.tS,
    speedMps,
    start: { scale: fallback.rollingRadiusM.value, delayS: fallback.gnssDelayS.value, slipPerNm: nominal.slipPerNm.value },
    slipSigma: nominal.slipPerNm.plusMinus95 / TWO_SIDED_95,
  });
  if (fit === null) return null;
  const [radius, delay, slip] = fit.parameters;
  const covariance = leading3(fit.covariance);
  covariance[0] += (radius * MODEL_ERROR) ** 2;
  return { fit, parameters: [radius, delay, slip], covariance, undrivenScale: null };
}

function fitWithUndriven(
  recording: AlignedRecording,
  grid: DriveGrid,
  undriven: UndrivenMean,
  speedMps: Float64Array,
  fallback: Calibration,
): Found | null {
  const ratio = fitDrivenRatio(grid, undriven.mean);
  if (ratio === null) return null;
  const start = { scale: fallback.rollingRadiusM.value / ratio.perSpin, delayS: fallback.gnssDelayS.value, slipPerNm: 0 };
  const rolling = undriven.mean.map((value) => value * start.scale);
  const mask = freelyRolling(grid, rolling);
  const acceleration = rolling.map((_, i) => slopeAt(rolling, i));
  const fit = fitSpeed({
    grid,
    spin: undriven.mean,
    mask,
    torqueNm: acceleration,
    driven: false,
    epochS: recording.epochs.tS,
    speedMps,
    start,
    slipSigma: LOAD_RADIUS_SIGMA,
  });
  if (fit === null) return null;
  const [scale, delay] = fit.parameters;
  const radius = scale * ratio.perSpin;
  const radiusVariance = radius ** 2 * (fit.covariance[0] / scale ** 2 + (ratio.perSpinSigma / ratio.perSpin) ** 2);
  const radiusDelay = fit.covariance[1] * ratio.perSpin;
  const radiusSlip = ratio.correlation * ratio.slipSigma * ratio.perSpinSigma * scale;
  return {
    fit,
    parameters: [radius, delay, ratio.slipPerNm],
    covariance: [radiusVariance, radiusDelay, radiusSlip, radiusDelay, fit.covariance[6], 0, radiusSlip, 0, ratio.slipSigma ** 2],
    undrivenScale: { value: scale, sigma: Math.sqrt(fit.covariance[0]) },
  };
}

/** The upper left 3 x 3 of a square matrix. */
function leading3(matrix: Float64Array): number[] {
  const size = Math.sqrt(matrix.length);
  return [0, 1, 2].flatMap((row) => [0, 1, 2].map((column) => matrix[row * size + column]));
}

interface Assembly {
  readonly recording: AlignedRecording;
  readonly setUp: SetUp;
  readonly grid: DriveGrid;
  readonly found: Found;
  readonly undriven: UndrivenMean | null;
  readonly usedS: number;
  readonly fallback: Calibration;
  readonly nominal: Calibration;
}

function assemble({ recording, setUp, grid, found, undriven, usedS, fallback, nominal }: Assembly): Calibration {
  const { parameters, fit } = found;
  const covariance = [...found.covariance];
  const clockVariance = (recording.clocks.can?.sigmaS ?? 0) ** 2 + (recording.clocks.gnss?.sigmaS ?? 0) ** 2;
  covariance[4] += clockVariance;
  const figure = (k: number): Figure => ({
    value: parameters[k],
    plusMinus95: TWO_SIDED_95 * Math.sqrt(covariance[4 * k]),
    from: "calibrated",
  });
  const [radius, delay, slip] = [figure(0), figure(1), figure(2)];
  const notes = weaknesses(grid, fit, recording, found.undrivenScale !== null);
  const load = lineLoadNote(recording.epochs, setUp);
  if (load !== null) notes.push(load);
  const radiusGood = radius.plusMinus95 < USELESS_RADIUS_SHARE * radius.value;
  const delayGood = delay.plusMinus95 < USELESS_DELAY_S;
  if (!radiusGood)
    notes.push(
      `Radius only known to ${((100 * radius.plusMinus95) / radius.value).toFixed(1)} % from this drive: the earlier value is kept.`,
    );
  if (!delayGood)
    notes.push(`Receiver delay only known to ${(1000 * delay.plusMinus95).toFixed(0)} ms from this drive: vary the speed more, gently.`);
  if (Math.abs(radius.value / nominal.rollingRadiusM.value - 1) > ODD_RADIUS_SHARE) {
    notes.push(
      `Radius ${radius.value.toFixed(4)} m is more than 5 % from the set-up's ${nominal.rollingRadiusM.value.toFixed(4)} m: check gear ratio, tyre and the motor speed's scale.`,
    );
  }
  const good = radiusGood && delayGood;
  const sensors =
    found.undrivenScale === null || undriven === null ? fallback.undrivenScales : undrivenScales(recording, undriven, found.undrivenScale);
  const threshold = Math.max(
    0,
    ...sensors.map((scale, j) =>
      recording.roles.undrivenWheelSpeeds?.[j] === undefined
        ? 0
        : undrivenThresholdMps(recording.roles.undrivenWheelSpeeds[j], scale.value, grid, parameters[0]),
    ),
  );
  return {
    rollingRadiusM: radiusGood ? radius : fallback.rollingRadiusM,
    gnssDelayS: delayGood ? delay : fallback.gnssDelayS,
    slipPerNm: slip,
    undrivenScales: sensors,
    drivenScales: radiusGood ? drivenScales(recording, grid, radius) : fallback.drivenScales,
    undrivenThresholdMps: threshold,
    receiverNoise: fit.noise,
    covariance: good ? covariance : null,
    usedS,
    notes,
  };
}

function refused(fallback: Calibration, usedS: number, why: string): Calibration {
  return { ...fallback, usedS, notes: [why] };
}

/** Speeds of valid epochs in near-straight driving: in a bend each wheel and the receiver go ways of their own. */
function usableSpeeds(recording: AlignedRecording): Float64Array {
  const { speedMps, fix, courseDeg, tS } = recording.epochs;
  const usable = speedMps.map((speed, i) => (fix[i] === "none" || fix[i] === "estimated" ? Number.NaN : speed));
  let from = 0;
  for (let i = 0; i < tS.length; i++) {
    while (tS[i] - tS[from] > BEND_SPAN_S) from += 1;
    const to = i;
    const distanceM = speedMps[i] * (tS[to] - tS[from]);
    if (!(distanceM > 0)) continue;
    const turned = Math.abs(((courseDeg[to] - courseDeg[from] + 540) % 360) - 180) * (Math.PI / 180);
    // Course is noisy by about the speed's noise over the speed.
    const noise = 0.15 / Math.min(speedMps[from], speedMps[to]);
    if (turned - noise > distanceM * MOST_CURVATURE_PER_M) for (let k = from; k <= to; k++) usable[k] = Number.NaN;
  }
  return usable;
}

function secondsUsed(recording: AlignedRecording, epochs: readonly number[]): number {
  let sum = 0;
  const { tS } = recording.epochs;
  for (let k = 1; k < epochs.length; k++) {
    const step = tS[epochs[k]] - tS[epochs[k - 1]];
    if (step < 1.5) sum += step;
  }
  return sum;
}

function weaknesses(grid: DriveGrid, fit: SpeedFit, recording: AlignedRecording, undriven: boolean): string[] {
  let [slowest, fastest, most, least] = [Infinity, 0, 0, 0];
  for (let i = 0; i < grid.count; i++) {
    if (grid.gentle[i] === 0) continue;
    most = Math.max(most, grid.torqueNm[i]);
    least = Math.min(least, grid.torqueNm[i]);
  }
  for (const i of fit.epochs) {
    slowest = Math.min(slowest, recording.epochs.speedMps[i]);
    fastest = Math.max(fastest, recording.epochs.speedMps[i]);
  }
  const notes: string[] = [];
  if (!undriven && fastest - slowest < SPEED_SPAN_MPS) {
    notes.push(
      `Speeds from ${(slowest * KMH_PER_MPS).toFixed(0)} to ${(fastest * KMH_PER_MPS).toFixed(0)} km/h only: drive at two speeds at least 40 km/h apart to tell slip from delay.`,
    );
  }
  if (!(least < -0.1 * most))
    notes.push("Torque of one sign only: let the car slow on the motor as well, to find the radius at zero force.");
  return notes;
}

function undrivenScales(recording: AlignedRecording, undriven: UndrivenMean, scale: { value: number; sigma: number }): WheelScale[] {
  return (recording.roles.undrivenWheelSpeeds ?? []).map((column, j) => {
    const value = scale.value * undriven.relative[j];
    const sigma = value * Math.hypot(scale.sigma / scale.value, undriven.relativeSigma[j] / undriven.relative[j]);
    return { name: column.name, value, plusMinus95: TWO_SIDED_95 * sigma, from: "calibrated" };
  });
}

/** Driven sensors and motor turn together (the mean of both wheels, through an open differential): slip drops out. */
function drivenScales(recording: AlignedRecording, grid: DriveGrid, radius: Figure): WheelScale[] {
  return (recording.roles.drivenWheelSpeeds ?? []).map((column, j) => {
    const ratios: number[] = [];
    for (let i = 0; i < grid.count; i += 5)
      if (grid.gentle[i] === 1 && Number.isFinite(grid.driven[j][i])) ratios.push(grid.spin[i] / grid.driven[j][i]);
    if (ratios.length < 60)
      return { name: column.name, value: column.unit === "rad/s" ? radius.value : 1, plusMinus95: 0.04, from: "unknown" };
    const centre = median(ratios);
    const spread = 1.4826 * median(ratios.map((ratio) => Math.abs(ratio - centre)));
    const value = radius.value * centre;
    const share = Math.hypot(radius.plusMinus95 / radius.value, (TWO_SIDED_95 * spread) / centre / Math.sqrt(ratios.length / 10));
    return { name: column.name, value, plusMinus95: value * share, from: "calibrated" };
  });
}
