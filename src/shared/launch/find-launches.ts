/**
 * Finds the launches in a whole recording. What is not a launch (creep, push, gentle drive-off, reversing, spin on the spot) is left out
 * without a message. Where nothing can be timed, whyNothingTimed says why.
 */
import { median } from "../kernel/statistics.ts";
import type { AlignedRecording } from "../align/aligned-recording.ts";
import type { Calibration } from "../align/calibration.ts";
import { MPS_PER_KMH } from "../kernel/units.ts";
import type { SetUp } from "../setup/set-up.ts";
import { type Gate, STANDARD_GATES } from "./gate.ts";
import { type GroundTrace, groundTrace, isHardFrom, isStandingAt } from "./ground-trace.ts";
import { findEnd, findStop, type LaunchEnd } from "./launch-end.ts";
import type { Mark } from "./mark.ts";
import { indexAtOrBefore } from "../align/timed-lookup.ts";

/**
 * One launch of a recording. All times in seconds on the recording's base, at the instants when the car had the speeds (receiver delay
 * removed).
 */
export interface LaunchWindow {
  /** First and last instant kept with the run. */
  readonly fromS: number;
  readonly toS: number;
  /** Last instant that was surely at rest, and first that surely moved. */
  readonly restS: number;
  readonly movingS: number;
  /** The run's end by the rules of docs/design.md "States". */
  readonly endS: number;
  /** Where the driving ended: when the pedal was released, or endS if it was not. */
  readonly liftS: number;
  readonly endedBy: LaunchEnd;
  /** At rest again after braking that followed the run directly; null otherwise. */
  readonly stopS: number | null;
}

/** A movement that stayed below this was a false start, not a launch. */
const LEAST_SPEED_MPS = 10 * MPS_PER_KMH;
export const MEANT_WITHIN_S = 3;
const MEANT_PEDAL_PERCENT = 50;
const KEEP_BEFORE_S = 5;
const KEEP_AFTER_S = 3;

/** One sentence that says why no launch of this recording can be timed; null where one can. */
export function whyNothingTimed(recording: AlignedRecording): string | null {
  if (recording.epochs.tS.length === 0) return "Nothing is timed: the recording holds no receiver epochs, so ground speed is unknown";
  if (!recording.epochs.speedMps.some(Number.isFinite)) return "Nothing is timed: no receiver epoch had a valid fix with a speed";
  return null;
}

/**
 * Launches in order of time. `marks`: where there are arm marks, launches that begin outside of an armed span are left out; an abort inside
 * a launch ends it. `gates`: the planned ones; the last of them ends a run.
 */
export function findLaunches(
  recording: AlignedRecording,
  calibration: Calibration,
  setUp: SetUp,
  marks: readonly Mark[],
  gates: readonly Gate[] = STANDARD_GATES,
): LaunchWindow[] {
  const trace = groundTrace(recording, calibration);
  const { t, v } = trace;
  const found: LaunchWindow[] = [];
  for (let i = 1; i < t.length; i++) {
    if (!(v[i - 1] < LEAST_SPEED_MPS && v[i] >= LEAST_SPEED_MPS)) continue;
    const earliest = found.length > 0 ? (found[found.length - 1].stopS ?? found[found.length - 1].endS) : Number.NEGATIVE_INFINITY;
    const rest = lastStanding(trace, i, earliest);
    if (rest < 0) continue;
    const restS = t[rest];
    if (!armedAt(marks, restS) || !isForward(recording, setUp, restS, t[i]) || !isMeant(recording, trace, rest)) continue;
    const end = findEnd({ recording, trace, from: i, marks, gates, restS });
    const stopS = findStop(trace, end.liftS, end.endS);
    found.push({
      fromS: Math.max(0, restS - KEEP_BEFORE_S),
      toS: Math.min(recording.endS, (stopS ?? end.endS) + KEEP_AFTER_S),
      restS,
      movingS: t[i],
      endS: end.endS,
      liftS: end.liftS,
      endedBy: end.endedBy,
      stopS,
    });
    while (i + 1 < t.length && t[i + 1] <= (stopS ?? end.endS)) i++;
  }
  return found;
}

/** Last epoch before i that ends a second at rest, at most a few seconds of creeping ago; -1 where there is none. */
function lastStanding(trace: GroundTrace, i: number, earliestS: number): number {
  for (let k = i - 1; k >= 0 && trace.t[k] > earliestS && trace.t[i] - trace.t[k] < 2 * MEANT_WITHIN_S; k--) {
    if (isStandingAt(trace, k)) return k;
  }
  return -1;
}

/** A motor that turns backwards while the car gains speed means reversing. An unknown direction counts as forward. */
function isForward(recording: AlignedRecording, setUp: SetUp, fromS: number, toS: number): boolean {
  const motor = recording.roles.motorSpeed;
  if (!motor || setUp.car.gearRatio <= 0) return true;
  const middle = median(motor.value.subarray(indexAtOrBefore(motor.tS, fromS) + 1, indexAtOrBefore(motor.tS, toS) + 1));
  return !(middle < 0);
}

function isMeant(recording: AlignedRecording, trace: GroundTrace, rest: number): boolean {
  const { t } = trace;
  const from = t[rest];
  const pedal = recording.roles.pedal;
  if (pedal) {
    for (let i = Math.max(0, indexAtOrBefore(pedal.tS, from)); i < pedal.tS.length && pedal.tS[i] <= from + MEANT_WITHIN_S; i++) {
      if (pedal.value[i] > MEANT_PEDAL_PERCENT) return true;
    }
  }
  for (let i = rest; i < t.length && t[i] <= from + MEANT_WITHIN_S; i++) if (isHardFrom(trace, i)) return true;
  return false;
}

function armedAt(marks: readonly Mark[], tS: number): boolean {
  let armed = !marks.some((mark) => mark.kind === "arm");
  for (const mark of [...marks].sort((a, b) => a.tS - b.tS)) {
    if (mark.tS > tS) break;
    if (mark.kind === "arm") armed = true;
    else if ((mark.kind === "disarm" || mark.kind === "abort") && marks.some((other) => other.kind === "arm")) armed = false;
  }
  return armed;
}
