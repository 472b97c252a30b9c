/** Compares one drive of known truth with the product's results for it. A missed launch or refused fit is counted, not thrown. */
import { TWO_SIDED_95 } from "../../src/shared/kernel/statistics.ts";
import type { AlignedRecording } from "../../src/shared/align/aligned-recording.ts";
import type { Figure } from "../../src/shared/align/calibration.ts";
import type { DerivedRun } from "../../src/shared/run/run.ts";
import { derive, type KnownDrive, type KnownLaunch } from "./known-drive.ts";
import type { Outcome } from "./tally.ts";

export interface GateOutcome extends Outcome {
  readonly gate: string;
  readonly start: string;
}

export interface CaseResult {
  readonly driven: number;
  readonly found: number;
  /** Relative; null where not calibrated. */
  readonly radius: Outcome | null;
  readonly delay: (Outcome & { readonly boundS: number }) | null;
  readonly gates: readonly GateOutcome[];
  /** Bound of each launch's 0-60 mph time, s. */
  readonly boundsS: readonly number[];
  /** 0-60 mph by straight lines through the receiver's speeds, error in s, one for each launch that has crossings. */
  readonly linesS: readonly number[];
  /** Slip ratio error / (1 + slip) above 10 km/h: root mean square of this case, and share of samples inside two sigma; null where unknown. */
  readonly slip: { readonly rms: number; readonly inside: number } | null;
}

const TEN_KMH_MPS = 10 / 3.6;
/** Slip is compared up to just before the lift, where torque is cut in a step. */
const BEFORE_LIFT_S = 0.1;

/** Derives and judges one drive. */
export function judgeCase(known: KnownDrive): CaseResult {
  const { recording, calibration, runs } = derive(known.tracks, known.setUp);
  const gates: GateOutcome[] = [];
  const slipErrors: { error: number; inside: boolean }[] = [];
  const matched = runs.length === known.launches.length;
  if (matched) {
    known.launches.forEach((launch, i) => {
      gates.push(...gateErrors(launch, runs[i]));
      slipErrors.push(...slipErrorsOf(known, launch, runs[i]));
    });
  }
  const figure = (claimed: Figure, truth: number, unit: number): Outcome | null =>
    claimed.from === "calibrated" ? { error: (claimed.value - truth) / unit, plusMinus95: claimed.plusMinus95 / unit } : null;
  const delay = figure(calibration.gnssDelayS, known.gnssDelayS, 1);
  return {
    driven: known.launches.length,
    found: runs.length,
    radius: figure(calibration.rollingRadiusM, known.rollingRadiusM, known.rollingRadiusM),
    delay: delay === null ? null : { ...delay, boundS: known.delayBoundS },
    gates,
    boundsS: known.launches.map((l) => l.boundS),
    linesS: known.launches.map((l) => straightLine(known, l, recording)).filter((e) => e !== null),
    slip:
      slipErrors.length === 0
        ? null
        : {
            rms: Math.sqrt(slipErrors.reduce((s, e) => s + e.error ** 2, 0) / slipErrors.length),
            inside: slipErrors.filter((e) => e.inside).length / slipErrors.length,
          },
  };
}

export function gateErrors(launch: KnownLaunch, run: DerivedRun): GateOutcome[] {
  const found: GateOutcome[] = [];
  for (const { gate, start, seconds } of launch.gates) {
    const claimed = run.gates.find((g) => g.gate === gate && g.start === start);
    if (seconds === null || claimed === undefined || claimed.seconds === null || claimed.plusMinus95 === null) continue;
    found.push({ gate, start, error: claimed.seconds - seconds, plusMinus95: claimed.plusMinus95 });
  }
  return found;
}

function slipErrorsOf(known: KnownDrive, launch: KnownLaunch, run: DerivedRun): { error: number; inside: boolean }[] {
  const found: { error: number; inside: boolean }[] = [];
  const { tS, slipRatio, slipSigma } = run.samples;
  if (known.slipAt === null) return found;
  for (let i = 0; i < tS.length; i += 1) {
    if (tS[i] < launch.movementS || tS[i] > launch.liftS - BEFORE_LIFT_S || Number.isNaN(slipRatio[i])) continue;
    const { slipMps, speedMps } = known.slipAt(tS[i]);
    if (speedMps < TEN_KMH_MPS) continue;
    const error = slipRatio[i] - slipMps / speedMps;
    found.push({ error: error / (1 + slipMps / speedMps), inside: Math.abs(error) <= TWO_SIDED_95 * slipSigma[i] });
  }
  return found;
}

/** For scale only. A constant delay cancels out of the difference of two crossings. */
function straightLine(known: KnownDrive, launch: KnownLaunch, recording: AlignedRecording): number | null {
  const truth = launch.gates.find((g) => g.gate === "0-60 mph" && g.start === "movement")?.seconds ?? null;
  const { tS, speedMps } = recording.epochs;
  let startS = Number.NaN;
  for (let i = 1; i < tS.length; i += 1) {
    if (tS[i] < launch.movementS + known.gnssDelayS - 0.5) continue;
    const cross = (level: number): number =>
      speedMps[i - 1] < level && speedMps[i] >= level
        ? tS[i - 1] + ((level - speedMps[i - 1]) / (speedMps[i] - speedMps[i - 1])) * (tS[i] - tS[i - 1])
        : Number.NaN;
    const start = cross(0.5 / 3.6);
    if (!Number.isNaN(start) && speedMps[i] < 5) startS = start;
    const end = cross(60 * 0.44704);
    if (!Number.isNaN(end)) return truth === null || Number.isNaN(startS) ? null : end - startS - truth;
  }
  return null;
}
