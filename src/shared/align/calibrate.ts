/**
 * Fits rolling radius, receiver delay and slip stiffness together on gentle driving in a recording. A figure that the drive does not
 * determine keeps the value of the set-up (or of the prior calibration) with a wide interval and the reason.
 */
import { TWO_SIDED_95 } from "../kernel/statistics.ts";
import { KMH_PER_MPS, MPS_PER_KMH } from "../kernel/units.ts";
import type { SetUp } from "../setup/set-up.ts";
import type { AlignedRecording } from "./aligned-recording.ts";
import type { Calibration, Figure } from "./calibration.ts";
import { atTime, buildDriveGrid, type DriveGrid, freelyRolling, slopeAt } from "./drive-grid.ts";
import { fitForce } from "./force-fit.ts";
import { lineLoadNote } from "./line-load.ts";
import { nominalCalibration } from "./nominal-calibration.ts";
import { drivenScales, greatestThresholdMps, undrivenScales } from "./sensor-scales.ts";
import { slowReceiverNote } from "./slow-receiver.ts";
import { fitSlipByForce } from "./slip-by-force.ts";
import { openAtZeroForce, typicalSlip } from "./slip-curve.ts";
import { fitSpeed, type SpeedFit } from "./speed-fit.ts";
import { averageUndriven, fitDrivenRatio, type UndrivenMean } from "./undriven-fit.ts";
import { secondsUsed, usableSpeeds } from "./usable-epochs.ts";

const LEAST_SECONDS = 20;
/** A figure with a half width above this is no better than the set-up's. */
const USELESS_RADIUS_SHARE = 0.01;
const USELESS_DELAY_S = 0.06;
const SPEED_SPAN_MPS = 40 * MPS_PER_KMH;
/**
 * Share by which a free-rolling tyre's radius may change per m/s2 as load moves off or onto its axle (from memory: radials, under 1e-4). At
 * 17 m/s it equals 1 ms of delay. The tyres of both generators do not do this, so their intervals cover up to 100 %.
 */
const LOAD_RADIUS_SIGMA = 6e-5;
/**
 * Gear loss over all gentle driving, which uses up to twice the force at which undriven wheels are compared (from memory): see
 * openAtZeroForce().
 */
const LOSS_SHARE = 0.014;
/** A radius this far from the set-up's more likely means a wrong ratio, tyre or signal scale than a worn tyre. */
const ODD_RADIUS_SHARE = 0.05;
const DRIVE_WORDS = "drive steadily above 15 km/h, gently on and off the pedal.";

interface Found {
  readonly fit: Pick<SpeedFit, "epochs" | "noise">;
  /** Radius, delay, slip per Nm; radius and slip are NaN where `radiusUnknown`. */
  readonly parameters: readonly [number, number, number];
  readonly covariance: readonly number[];
  readonly undrivenScale: { readonly value: number; readonly sigma: number } | null;
  /** Why radius and slip could not be determined; null where they were. */
  readonly radiusUnknown: string | null;
}

/** Fits one calibration to a whole recording. `prior` gives the start values, and what is kept where the drive says too little. */
export function calibrate(recording: AlignedRecording, setUp: SetUp, prior: Calibration | null): Calibration {
  const units = (list: readonly { unit: string }[] | undefined) => (list ?? []).map((column) => column.unit);
  const { undrivenWheelSpeeds, drivenWheelSpeeds } = recording.roles;
  const nominal = nominalCalibration(setUp, { undriven: units(undrivenWheelSpeeds), driven: units(drivenWheelSpeeds) });
  const fallback = prior ?? nominal;
  const grid = buildDriveGrid(recording, setUp, {
    radiusM: fallback.rollingRadiusM.value,
    undriven: fallback.undrivenScales[0]?.value ?? 1,
  });
  const rolls = (recording.roles.undrivenWheelSpeeds ?? []).length > 0;
  if (grid === null || (!grid.known.torque && !rolls)) {
    const missing = grid === null ? "motor speed, no delivered torque" : "delivered torque";
    return refused(fallback, 0, `No ${missing} and no undriven wheels in this recording: check the signal names in the set-up.`);
  }
  const speedMps = usableSpeeds(recording);
  const undriven = averageUndriven(grid);
  const driven = grid.known.motorSpeed && grid.known.torque;
  const found =
    (undriven === null ? null : fitWithUndriven(recording, grid, undriven, speedMps, fallback)) ??
    (driven ? fitDriven({ recording, setUp, grid, speedMps, fallback, nominal }) : fitTorque(recording, setUp, speedMps, fallback));
  if (found === null) return refused(fallback, 0, `Less than ${LEAST_SECONDS} s of gentle driving with a valid speed: ${DRIVE_WORDS}`);
  const usedS = secondsUsed(recording, found.fit.epochs);
  if (usedS < LEAST_SECONDS) {
    const why = `Only ${usedS.toFixed(0)} s of gentle driving with a valid speed, ${LEAST_SECONDS} s are needed: ${DRIVE_WORDS}`;
    return refused(fallback, usedS, why);
  }
  return assemble({ recording, setUp, grid, found, undriven, usedS, fallback, nominal });
}

interface Gentle {
  readonly recording: AlignedRecording;
  readonly setUp: SetUp;
  readonly grid: DriveGrid;
  readonly speedMps: Float64Array;
  readonly fallback: Calibration;
  readonly nominal: Calibration;
}

function fitDriven({ recording, setUp, grid, speedMps, fallback, nominal }: Gentle): Found | null {
  const typical = typicalSlip(nominal.slipPerNm.value, nominal.slipPerNm.plusMinus95 / TWO_SIDED_95);
  const known = fitSlipByForce(grid, setUp, fallback.rollingRadiusM.value, typical) ?? typical;
  const fit = fitSpeed({
    grid,
    spin: grid.spin,
    mask: grid.gentle,
    torqueNm: grid.slipTorqueNm,
    driven: true,
    epochS: recording.epochs.tS,
    speedMps,
    start: { scale: fallback.rollingRadiusM.value, delayS: fallback.gnssDelayS.value },
    known,
  });
  if (fit === null) return null;
  const [radius, delay, slip] = fit.parameters;
  const covariance = leading3(fit.covariance);
  const squares = fit.epochs.reduce((sum, i) => sum + atTime(grid, grid.slipTorqueNm, recording.epochs.tS[i] - delay) ** 2, 0);
  // The bend of the slip curve is fitted here with its variance, so it adds no further error.
  covariance[0] += (radius * openAtZeroForce(slip * Math.sqrt(squares / fit.epochs.length), 0, LOSS_SHARE)) ** 2;
  return { fit, parameters: [radius, delay, slip], covariance, undrivenScale: null, radiusUnknown: null };
}

function fitWithUndriven(
  recording: AlignedRecording,
  grid: DriveGrid,
  undriven: UndrivenMean,
  speedMps: Float64Array,
  fallback: Calibration,
): Found | null {
  const ratio = grid.known.motorSpeed && grid.known.torque ? fitDrivenRatio(grid, undriven.mean) : null;
  const start = {
    scale: ratio === null ? fallback.undrivenScales[0].value : fallback.rollingRadiusM.value / ratio.perSpin,
    delayS: fallback.gnssDelayS.value,
  };
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
    known: typicalSlip(0, LOAD_RADIUS_SIGMA),
  });
  if (fit === null) return null;
  const [scale, delay] = fit.parameters;
  const undrivenScale = { value: scale, sigma: Math.sqrt(fit.covariance[0]) };
  if (ratio === null) {
    const missing = !grid.known.motorSpeed ? "motor speed" : !grid.known.torque ? "delivered torque" : null;
    const radiusUnknown =
      missing === null
        ? "Radius and slip are not calibrated: motor and undriven wheels were too seldom heard together in gentle driving."
        : `Radius and slip are not calibrated: no ${missing} in this recording. Delay and scales are, from the undriven wheels.`;
    return { fit, parameters: [Number.NaN, delay, Number.NaN], covariance: delayAlone(fit.covariance[6]), undrivenScale, radiusUnknown };
  }
  const radius = scale * ratio.perSpin;
  const radiusVariance = radius ** 2 * (fit.covariance[0] / scale ** 2 + (ratio.perSpinSigma / ratio.perSpin) ** 2);
  const radiusDelay = fit.covariance[1] * ratio.perSpin;
  const radiusSlip = ratio.correlation * ratio.slipSigma * ratio.perSpinSigma * scale;
  return {
    fit,
    parameters: [radius, delay, ratio.slipPerNm],
    covariance: [radiusVariance, radiusDelay, radiusSlip, radiusDelay, fit.covariance[6], 0, radiusSlip, 0, ratio.slipSigma ** 2],
    undrivenScale,
    radiusUnknown: null,
  };
}

/** Without wheels or motor speed only the delay is fitted. */
function fitTorque(recording: AlignedRecording, setUp: SetUp, speedMps: Float64Array, fallback: Calibration): Found | null {
  const near = { radiusM: fallback.rollingRadiusM.value, slipPerNm: fallback.slipPerNm.value, delayS: fallback.gnssDelayS.value };
  const fit = fitForce(recording, setUp, speedMps, near);
  if (fit === null) return null;
  return {
    fit,
    parameters: [Number.NaN, fit.delayS, Number.NaN],
    covariance: delayAlone(fit.delaySigmaS ** 2),
    undrivenScale: null,
    radiusUnknown:
      "Radius and slip are not calibrated: no motor speed in this recording. The delay is, from torque through the car's mass.",
  };
}

function delayAlone(variance: number): number[] {
  return Array.from({ length: 9 }, (_, k) => (k === 4 ? variance : Number.NaN));
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
  const clockVariance = (recording.clocks.can?.sharedSigmaS ?? 0) ** 2 + (recording.clocks.gnss?.sharedSigmaS ?? 0) ** 2;
  covariance[4] += clockVariance;
  const figure = (k: number): Figure => ({
    value: parameters[k],
    plusMinus95: TWO_SIDED_95 * Math.sqrt(covariance[4 * k]),
    from: "calibrated",
  });
  const notes = weaknesses(grid, fit.epochs, recording, found.undrivenScale !== null);
  for (const note of [lineLoadNote(recording.epochs, setUp), slowReceiverNote(recording.epochs)]) if (note !== null) notes.push(note);
  const delay = figure(1);
  const radiusWhy = found.radiusUnknown ?? weakRadius(figure(0));
  const delayWhy =
    delay.plusMinus95 < USELESS_DELAY_S
      ? null
      : `Receiver delay only known to ${(1000 * delay.plusMinus95).toFixed(0)} ms from this drive: vary the speed more, gently.`;
  for (const why of [radiusWhy, delayWhy]) if (why !== null) notes.push(why);
  const rollingRadiusM = radiusWhy === null ? figure(0) : kept(fallback.rollingRadiusM, radiusWhy);
  if (Math.abs(parameters[0] / nominal.rollingRadiusM.value - 1) > ODD_RADIUS_SHARE) {
    notes.push(
      `Radius ${parameters[0].toFixed(4)} m is more than 5 % from the set-up's ${nominal.rollingRadiusM.value.toFixed(4)} m: check gear ratio, tyre and the motor speed's scale.`,
    );
  }
  const sensors =
    found.undrivenScale === null || undriven === null ? fallback.undrivenScales : undrivenScales(recording, undriven, found.undrivenScale);
  return {
    rollingRadiusM,
    gnssDelayS: delayWhy === null ? delay : kept(fallback.gnssDelayS, delayWhy),
    slipPerNm: found.radiusUnknown === null ? figure(2) : kept(fallback.slipPerNm, found.radiusUnknown),
    undrivenScales: sensors,
    drivenScales: radiusWhy === null ? drivenScales(recording, grid, rollingRadiusM) : fallback.drivenScales,
    undrivenThresholdMps: greatestThresholdMps(recording, sensors, grid, rollingRadiusM.value),
    receiverNoise: fit.noise,
    covariance: radiusWhy === null && delayWhy === null ? covariance : null,
    usedS,
    notes,
  };
}

function weakRadius(radius: Figure): string | null {
  if (radius.plusMinus95 < USELESS_RADIUS_SHARE * radius.value) return null;
  const percent = ((100 * radius.plusMinus95) / radius.value).toFixed(1);
  return `Radius only known to ${percent} % from this drive: the earlier value is kept.`;
}

/** The earlier figure where this drive does not determine it. A calibrated one is kept as it is. */
function kept(figure: Figure, why: string): Figure {
  return figure.from === "calibrated" ? figure : { ...figure, why };
}

function refused(fallback: Calibration, usedS: number, why: string): Calibration {
  const { rollingRadiusM, gnssDelayS, slipPerNm } = fallback;
  return {
    ...fallback,
    rollingRadiusM: kept(rollingRadiusM, why),
    gnssDelayS: kept(gnssDelayS, why),
    slipPerNm: kept(slipPerNm, why),
    usedS,
    notes: [why],
  };
}

function weaknesses(grid: DriveGrid, epochs: readonly number[], recording: AlignedRecording, undriven: boolean): string[] {
  let [slowest, fastest, most, least] = [Infinity, 0, 0, 0];
  for (let i = 0; i < grid.count; i++) {
    if (grid.gentle[i] === 0) continue;
    most = Math.max(most, grid.torqueNm[i]);
    least = Math.min(least, grid.torqueNm[i]);
  }
  for (const i of epochs) {
    slowest = Math.min(slowest, recording.epochs.speedMps[i]);
    fastest = Math.max(fastest, recording.epochs.speedMps[i]);
  }
  const notes: string[] = [];
  if (!undriven && fastest - slowest < SPEED_SPAN_MPS) {
    notes.push(
      `Speeds from ${(slowest * KMH_PER_MPS).toFixed(0)} to ${(fastest * KMH_PER_MPS).toFixed(0)} km/h only: drive at two speeds at least 40 km/h apart to tell slip from delay.`,
    );
  }
  if (grid.known.motorSpeed && grid.known.torque && !(least < -0.1 * most))
    notes.push("Torque of one sign only: let the car slow on the motor as well, to find the radius at zero force.");
  return notes;
}
