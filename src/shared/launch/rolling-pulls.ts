/**
 * Pulls that began while the car rolled. They are not timed, as a launch begins standing; a recording that holds nothing else says so instead of
 * "no run".
 */
import type { AlignedRecording } from "../align/aligned-recording.ts";
import type { Calibration } from "../align/calibration.ts";
import { indexAtOrBefore, lineAt } from "../align/timed-lookup.ts";
import { saidSpeed } from "../kernel/shown-units.ts";
import { MPS_PER_KMH } from "../kernel/units.ts";
import { type GroundTrace, groundTrace, isHardFrom } from "./ground-trace.ts";

export interface RollingPull {
  /** On the recording's base. */
  readonly atS: number;
  readonly fromMps: number;
}

/** Below this a car that is pulled away is one that was hardly rolling: a start. */
const ROLLING_MPS = 10 * MPS_PER_KMH;
/** Pedal beyond this, and speed gained by this much, make a pull (common practice, no source). */
const PULL_PERCENT = 50;
const GAINED_MPS = 10 * MPS_PER_KMH;
const LONGEST_S = 10;
const STALE_S = 1;

/** Where the pedal went down. */
function pedalStarts({ roles: { pedal } }: AlignedRecording): number[] {
  if (pedal === undefined) return [];
  const starts: number[] = [];
  for (let i = 1; i < pedal.tS.length; i++)
    if (pedal.value[i - 1] < PULL_PERCENT && pedal.value[i] >= PULL_PERCENT) starts.push(pedal.tS[i]);
  return starts;
}

/** Where hard acceleration began; for a car whose pedal is not mapped. */
function hardStarts(trace: GroundTrace): number[] {
  const starts: number[] = [];
  let was = false;
  for (let i = 0; i < trace.t.length; i++) {
    const is = isHardFrom(trace, i);
    if (is && !was) starts.push(trace.t[i]);
    was = is;
  }
  return starts;
}

/** In order of time. Needs ground speed: without any there are none. */
export function rollingPulls(recording: AlignedRecording, calibration: Calibration): RollingPull[] {
  const trace = groundTrace(recording, calibration);
  const ground = { name: "ground speed", unit: "m/s", quantum: 0, tS: trace.t, value: trace.v };
  const starts = recording.roles.pedal === undefined ? hardStarts(trace) : pedalStarts(recording);
  const found: RollingPull[] = [];
  let untilS = Number.NEGATIVE_INFINITY;
  for (const atS of starts) {
    const fromMps = lineAt(ground, atS, STALE_S);
    if (atS < untilS || !(fromMps >= ROLLING_MPS)) continue;
    const last = indexAtOrBefore(trace.t, atS + LONGEST_S);
    let gained = false;
    for (let i = indexAtOrBefore(trace.t, atS) + 1; i <= last && !gained; i++) {
      gained = trace.v[i] - fromMps >= GAINED_MPS;
      if (gained) untilS = trace.t[i];
    }
    if (gained) found.push({ atS, fromMps });
  }
  return found;
}

/** One sentence about a recording without a run; null where it holds no pull either. */
export function rollingWords(pulls: readonly RollingPull[]): string | null {
  const [first] = pulls;
  if (first === undefined) return null;
  const times = pulls.length === 1 ? "Once the car was" : `${pulls.length} times the car was`;
  const where = `${pulls.length === 1 ? "at" : "first at"} ${saidSpeed(first.fromMps)}, ${first.atS.toFixed(0)} s into the recording`;
  return `${times} pulled hard while it rolled, ${where}: only launches that begin standing are timed`;
}
