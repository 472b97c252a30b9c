/** Random launches of the second car, timed by the project and held against their truth. A launch that is missed is counted, not thrown. */
import { alignRecording } from "../../src/shared/align/align-recording.ts";
import type { AlignedRecording } from "../../src/shared/align/aligned-recording.ts";
import { calibrate } from "../../src/shared/align/calibrate.ts";
import type { Calibration } from "../../src/shared/align/calibration.ts";
import { estimateRun } from "../../src/shared/run/estimate-run.ts";
import { findLaunches } from "../../src/shared/run/find-launches.ts";
import { STANDARD_GATES } from "../../src/shared/run/gate.ts";
import type { DerivedRun } from "../../src/shared/run/run.ts";
import type { SetUp } from "../../src/shared/setup/set-up.ts";
import type { DriveClass } from "../support/second-car/recipe.ts";
import { drawRecipe } from "../support/second-car/recipe.ts";
import type { SecondCarDrive } from "../support/second-car/second-car.ts";
import { recordDrive, setUpOf, tracksOf } from "../support/second-car/second-car.ts";
import { launchBound } from "./bound.ts";
import type { Outcome } from "./tally.ts";

export interface GateOutcome extends Outcome {
  readonly gate: string;
  readonly start: string;
}

export interface LaunchCase {
  /** Launches driven, and windows found: they differ when one was missed or something else was timed. */
  readonly driven: number;
  readonly found: number;
  readonly gates: readonly GateOutcome[];
  /** Slip ratio error / (1 + slip) above 10 km/h: sum of squares and count, and how often its own two sigma held it. */
  readonly slip: { readonly squares: number; readonly count: number; readonly inside: number };
  /** Cramer-Rao bound of the first launch's 0-60 mph time, s. */
  readonly boundS: number;
  /** 0-60 mph error of a straight line through the receiver's own speeds, s; null where it has no crossing. */
  readonly straightLineS: number | null;
}

const TEN_KMH_MPS = 10 / 3.6;

/** The recording, calibrated as import would. */
export function deriveAll(drive: SecondCarDrive): { recording: AlignedRecording; calibration: Calibration; setUp: SetUp; runs: DerivedRun[] } {
  const setUp = setUpOf(drive.recipe);
  const recording = alignRecording(tracksOf(drive), setUp);
  const calibration = calibrate(recording, setUp, null);
  const windows = findLaunches(recording, calibration, setUp, []);
  const runs = windows.map((window, i) => estimateRun({ recording, calibration, setUp, window, gates: STANDARD_GATES, uid: `case-${i}` }));
  return { recording, calibration, setUp, runs };
}

/** One random drive of a class with its launches timed. */
export function launchCase(seed: number, kind: DriveClass): LaunchCase {
  const drive = recordDrive(drawRecipe(seed, kind));
  const { recording, runs } = deriveAll(drive);
  const { launches } = drive.truth;
  const gates: GateOutcome[] = [];
  const slip = { squares: 0, count: 0, inside: 0 };
  if (runs.length === launches.length) {
    launches.forEach((launch, i) => {
      for (const truth of launch.gates) {
        const claimed = runs[i].gates.find((g) => g.gate === truth.gate && g.start === truth.start);
        if (truth.seconds === null || claimed === undefined || claimed.seconds === null || claimed.plusMinus95 === null) continue;
        gates.push({ gate: truth.gate, start: truth.start, error: claimed.seconds - truth.seconds, plusMinus95: claimed.plusMinus95 });
      }
      addSlip(drive, runs[i], launch.movementS, launch.fromS, slip);
    });
  }
  const { undriven, torque, motorSpeed } = drive.recipe.bus;
  return {
    driven: launches.length,
    found: runs.length,
    gates,
    slip,
    boundS: launches.length > 0 ? launchBound(drive, launches[0], { undriven, torque, motorSpeed }) : Number.NaN,
    straightLineS: straightLine(drive, recording),
  };
}

function addSlip(drive: SecondCarDrive, run: DerivedRun, fromS: number, phaseS: number, sum: { squares: number; count: number; inside: number }): void {
  const endS = drive.trace.phases.find((p) => p.fromS === phaseS)?.toS ?? fromS;
  const { tS, slipRatio, slipSigma } = run.samples;
  for (let i = 0; i < tS.length; i += 1) {
    if (tS[i] < fromS || tS[i] > endS - 0.1 || Number.isNaN(slipRatio[i])) continue;
    const { slipMps, speedMps } = drive.truth.slipAt(tS[i]);
    if (speedMps < TEN_KMH_MPS) continue;
    const error = (slipRatio[i] - slipMps / speedMps) / (1 + slipMps / speedMps);
    sum.squares += error ** 2;
    sum.count += 1;
    if (Math.abs(slipRatio[i] - slipMps / speedMps) <= 1.96 * slipSigma[i]) sum.inside += 1;
  }
}

/** For scale: straight lines between the receiver's speeds. Its delay cancels out of a difference of crossings. */
function straightLine(drive: SecondCarDrive, recording: AlignedRecording): number | null {
  const launch = drive.truth.launches[0];
  if (launch === undefined) return null;
  const { tS, speedMps } = recording.epochs;
  const shift = drive.truth.gnssDelayS + drive.truth.baseShiftS;
  const truth = launch.gates.find((g) => g.gate === "0-60 mph" && g.start === "movement")?.seconds ?? null;
  let startS = Number.NaN;
  for (let i = 1; i < tS.length; i += 1) {
    if (tS[i] < launch.fromS + shift - 0.5) continue;
    const cross = (level: number): number | null =>
      speedMps[i - 1] < level && speedMps[i] >= level ? tS[i - 1] + ((level - speedMps[i - 1]) / (speedMps[i] - speedMps[i - 1])) * (tS[i] - tS[i - 1]) : null;
    const start = cross(0.5 / 3.6);
    if (start !== null && speedMps[i] < 5) startS = start;
    const end = cross(60 * 0.44704);
    if (end !== null) return truth === null || Number.isNaN(startS) ? null : end - startS - truth;
  }
  return null;
}
