/** The run as columns each 10 ms: ground speed with its uncertainty, wheel speed, slip, distance, acceleration, roles. Unknown is NaN. */
import { LEAST_RATIO_MPS } from "../align/slip.ts";
import { TWO_SIDED_95 } from "../kernel/statistics.ts";
import type { AlignedRecording, TimedColumn } from "../align/aligned-recording.ts";
import type { Calibration } from "../align/calibration.ts";
import { KMH_PER_MPS } from "../kernel/units.ts";
import type { SetUp } from "../setup/set-up.ts";
import type { LaunchWindow } from "../launch/find-launches.ts";
import type { LaunchFit } from "../launch/launch-fit.ts";
import { at } from "../launch/launch-curve.ts";
import { GRID_S } from "../launch/launch-model.ts";
import { STALE_S } from "../launch/prepare-launch.ts";
import { rollOut } from "./roll-out.ts";
import type { RunSamples, SlipSummary } from "./run.ts";
import { signalNoise } from "./signal-noise.ts";
import { heldAt, lineAt } from "../align/timed-lookup.ts";

const RATE_S = 0.02;

export interface FittedRun {
  readonly recording: AlignedRecording;
  readonly calibration: Calibration;
  readonly setUp: SetUp;
  readonly window: LaunchWindow;
  readonly fit: LaunchFit;
  /** The time at which distance is 0. */
  readonly movementS: number;
}

/** Samples over the whole window. */
export function runSamples({ recording, calibration, setUp, window, fit, movementS }: FittedRun): RunSamples {
  const count = Math.max(1, Math.floor((window.toS - window.fromS) / GRID_S + 1e-6) + 1);
  const make = () => new Float64Array(count).fill(Number.NaN);
  const [tS, v, sigma, wheel, slip, ratio, slipSigma, distance, acceleration] = Array.from({ length: 9 }, make);
  const lastX = fit.speed.length - 1;
  const fitEndS = fit.grid.fromS + lastX * GRID_S;
  const sigmaAt = (x: number) => Math.sqrt(fit.speedModes.reduce((sum, mode) => sum + at(mode, x) ** 2, 0));
  const after = rollOut(recording, calibration, fitEndS, window.toS, { speedMps: fit.speed[lastX], sigmaMps: sigmaAt(lastX) });
  const radius = calibration.rollingRadiusM;
  const perRadps = radius.value / setUp.car.gearRatio;
  const radiusShare = radius.plusMinus95 / TWO_SIDED_95 / radius.value;
  const { motorSpeed } = recording.roles;
  // On a straight line between two frames the variance is, on average over all places between them, two thirds of a frame's.
  const motorSigma = motorSpeed === undefined ? Number.NaN : Math.sqrt(2 / 3) * signalNoise(motorSpeed, window.fromS, window.toS);
  const frameSigmaS = recording.clocks.can?.sigmaS ?? 0;
  for (let i = 0; i < count; i++) {
    const t = window.fromS + i * GRID_S;
    tS[i] = t;
    const x = (t - fit.grid.fromS) / GRID_S;
    if (x < 0) {
      v[i] = 0;
      sigma[i] = 0;
      acceleration[i] = 0;
    } else if (x <= lastX) {
      v[i] = at(fit.speed, x);
      sigma[i] = sigmaAt(x);
      acceleration[i] = at(fit.acceleration, x);
    } else {
      const line = after.at(t);
      v[i] = line.speedMps;
      sigma[i] = line.sigmaMps;
      const next = after.at(Math.min(window.toS, t + 0.05));
      const last = after.at(t - 0.05);
      acceleration[i] = (next.speedMps - last.speedMps) / (Math.min(window.toS, t + 0.05) - t + 0.05);
    }
    const motor = lineAt(motorSpeed, t, STALE_S);
    wheel[i] = Number.isFinite(motor) && radius.from !== "unknown" ? motor * perRadps : Number.NaN;
    slip[i] = wheel[i] - v[i];
    if (v[i] >= LEAST_RATIO_MPS) {
      ratio[i] = slip[i] / v[i];
      // Two errors: a frame's own noise, and how far the wheel turns while the time of a frame is uncertain.
      const motorRate = (lineAt(motorSpeed, t + RATE_S, STALE_S) - lineAt(motorSpeed, t - RATE_S, STALE_S)) / (2 * RATE_S);
      const frame = perRadps * Math.hypot(motorSigma, Number.isFinite(motorRate) ? motorRate * frameSigmaS : 0);
      slipSigma[i] = Math.hypot((1 + ratio[i]) * Math.hypot(radiusShare, sigma[i] / v[i]), frame / v[i]);
    }
  }
  const zero = Math.max(0, Math.min(count - 1, Math.round((movementS - window.fromS) / GRID_S)));
  distance[zero] = 0;
  for (let i = zero + 1; i < count; i++) distance[i] = distance[i - 1] + ((v[i] + v[i - 1]) / 2) * GRID_S;
  for (let i = zero - 1; i >= 0; i--) distance[i] = distance[i + 1] - ((v[i] + v[i + 1]) / 2) * GRID_S;
  return {
    tS,
    groundSpeedMps: v,
    groundSpeedSigmaMps: sigma,
    wheelSpeedMps: wheel,
    slipSpeedMps: slip,
    slipRatio: ratio,
    slipSigma,
    distanceM: distance,
    accelerationMps2: acceleration,
    roles: roleColumns(recording, tS),
  };
}

function roleColumns(recording: AlignedRecording, tS: Float64Array): Record<string, Float64Array> {
  const columns: Record<string, Float64Array> = {};
  const add = (name: string, column: TimedColumn) => {
    columns[name] = tS.map((t) => heldAt(column, t, Math.max(STALE_S, 3 * typicalStep(column))));
  };
  for (const [role, value] of Object.entries(recording.roles)) {
    if (Array.isArray(value))
      value.forEach((column, k) => {
        add(`${role}.${k}`, column);
      });
    else if (value) add(role, value);
  }
  return columns;
}

/** Slow signals (charge, temperatures) come once a second or less often: they are stale after three of their own steps. */
function typicalStep(column: TimedColumn): number {
  const n = column.tS.length;
  return n > 1 ? (column.tS[n - 1] - column.tS[0]) / (n - 1) : 0;
}

/** Slip from movement to the launch's end; null where wheel speed or ground speed was unknown. */
export function summariseSlip(samples: RunSamples, movementS: number, endS: number): SlipSummary {
  let speed = Number.NEGATIVE_INFINITY;
  let ratio = Number.NEGATIVE_INFINITY;
  let above = 0;
  for (let i = 0; i < samples.tS.length; i++) {
    if (samples.tS[i] < movementS || samples.tS[i] > endS) continue;
    if (samples.slipSpeedMps[i] > speed) speed = samples.slipSpeedMps[i];
    if (samples.slipRatio[i] > ratio) ratio = samples.slipRatio[i];
    if (samples.slipRatio[i] > 0.1) above += GRID_S;
  }
  const known = Number.isFinite(ratio);
  return {
    peakSlipSpeedKmh: Number.isFinite(speed) ? speed * KMH_PER_MPS : null,
    peakSlipRatio: known ? ratio : null,
    secondsAbove10Percent: known ? above : null,
  };
}
