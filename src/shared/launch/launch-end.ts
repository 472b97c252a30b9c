/**
 * Where a launch ends and, after braking that followed it, where the car was at rest again. Where a stream was lost, nothing is concluded:
 * no end is looked for across a hole, and a stop inside one does not count.
 */
import type { AlignedRecording, TimedColumn } from "../align/aligned-recording.ts";
import { crossingBetween, heldAt, indexAtOrBefore } from "../align/timed-lookup.ts";
import { type Gate, gateEnds } from "./gate.ts";
import { type GroundTrace, STAND_MPS } from "./ground-trace.ts";
import type { Mark } from "./mark.ts";

/** Why a run ended. "lost": the receiver was silent, so what the car did then is not known. */
export type LaunchEnd = "lift" | "gates" | "stopped" | "abort" | "recordingEnd" | "lost";

const BRAKED_FOR_S = 0.5;
const PEDAL_STALE_S = 0.5;
const BRAKING_MPS2 = 3;
/** A speed gain after braking that means that the car did not go on to a stop. */
const GATHERED_MPS = 1;
/** When the receiver is silent for this long, nothing shows what the car did. */
const LOST_S = 2;
/** A stop is timed to hundredths, so the epochs around it must have been received; only a slow receiver's normal steps are allowed. */
const STOP_UNHEARD_S = 0.5;
/** In a hole of the pedal's signal the lift is taken at the peak of speed; it may have been an epoch or two earlier. */
const BEFORE_PEAK_S = 0.2;

export interface Begun {
  readonly recording: AlignedRecording;
  readonly trace: GroundTrace;
  /** Index in the trace from which the car surely moves. */
  readonly from: number;
  readonly marks: readonly Mark[];
  readonly gates: readonly Gate[];
  /** When the car was last at rest. */
  readonly restS: number;
}

export function findEnd({ recording, trace, from, marks, gates, restS }: Begun): { endS: number; liftS: number; endedBy: LaunchEnd } {
  const { t, v } = trace;
  const lift = findLift(recording, trace, from);
  const candidates: { endS: number; endedBy: LaunchEnd }[] = [
    {
      endS: Math.min(recording.endS, t[t.length - 1] + 1),
      endedBy: "recordingEnd",
    },
  ];
  if (lift !== null) candidates.push({ endS: lift + 1, endedBy: "lift" });
  const abort = marks.find((mark) => mark.kind === "abort" && mark.tS > restS);
  if (abort) candidates.push({ endS: abort.tS, endedBy: "abort" });
  const ends = gates.map((gate) => gateEnds(gate).to);
  const lastSpeed = Math.max(0, ...ends.map((end) => (end.what === "speed" ? end.mps : 0)));
  const lastDistance = Math.max(0, ...ends.map((end) => (end.what === "distance" ? end.m : 0)));
  let distance = 0;
  for (let i = from + 1; i < t.length; i++) {
    if (t[i] - t[i - 1] > LOST_S) {
      candidates.push({ endS: t[i - 1], endedBy: "lost" });
      break;
    }
    distance += ((v[i] + v[i - 1]) / 2) * (t[i] - t[i - 1]);
    if (v[i] >= lastSpeed && distance >= lastDistance) {
      const passed = v[i - 1] < lastSpeed ? crossingBetween(t[i - 1], v[i - 1], t[i], v[i], lastSpeed) : t[i];
      candidates.push({ endS: passed + 1, endedBy: "gates" });
      break;
    }
    if (v[i] < STAND_MPS + trace.restLevelMps) {
      candidates.push({ endS: t[i], endedBy: "stopped" });
      break;
    }
  }
  candidates.sort((a, b) => a.endS - b.endS);
  return {
    ...candidates[0],
    liftS: Math.min(lift ?? candidates[0].endS, candidates[0].endS),
  };
}

/**
 * Start of the first second with the pedal under 5 %; where the pedal is unknown, the lift that ground speed shows. Null where there was
 * none.
 */
function findLift(recording: AlignedRecording, trace: GroundTrace, from: number): number | null {
  const { pedal } = recording.roles;
  const fromS = trace.t[from];
  if (!pedal || Number.isNaN(heldAt(pedal, fromS, PEDAL_STALE_S))) return slowedFrom(trace, from, Number.POSITIVE_INFINITY);
  let since: number | null = null;
  const first = Math.max(0, indexAtOrBefore(pedal.tS, fromS));
  for (let i = first; i < pedal.tS.length; i++) {
    if (i > first && pedal.tS[i] - pedal.tS[i - 1] > PEDAL_STALE_S) {
      // A pedal that was off when its signal stopped counts as released: it may have stayed off.
      const lifted = since ?? liftUnheard(pedal, trace, i);
      if (lifted !== null) return lifted;
    }
    if (pedal.value[i] >= 5) since = null;
    else since ??= pedal.tS[i];
    if (since !== null && pedal.tS[i] - since >= 1) return since;
  }
  const lastS = pedal.tS[pedal.tS.length - 1];
  if (since !== null && recording.endS - lastS > PEDAL_STALE_S) return since;
  return slowedFrom(trace, Math.max(from, indexAtOrBefore(trace.t, lastS)), Number.POSITIVE_INFINITY);
}

/** The pedal was silent before its frame i: when it may have been released in between. Null where the car gained speed all the while. */
function liftUnheard(pedal: TimedColumn, trace: GroundTrace, i: number): number | null {
  const { t, v } = trace;
  const [fromS, toS] = [pedal.tS[i - 1], pedal.tS[i]];
  const first = Math.max(0, indexAtOrBefore(t, fromS));
  const slowed = slowedFrom(trace, first, toS);
  if (slowed !== null) return slowed;
  if (pedal.value[i] >= 5) return null;
  let peak = first;
  for (let k = first; k < t.length && t[k] <= toS; k++) if (v[k] > v[peak]) peak = k;
  // Epochs may have been missing at that moment too.
  const sureS = peak > first && t[peak] - t[peak - 1] > BEFORE_PEAK_S ? t[peak - 1] : t[peak] - BEFORE_PEAK_S;
  return Math.max(fromS, sureS);
}

/** Start of the first second of falling speed that begins in the span; null where there is none. */
function slowedFrom({ t, v }: GroundTrace, from: number, untilS: number): number | null {
  for (let i = from; i < t.length && t[i] <= untilS; i++) {
    const j = indexAtOrBefore(t, t[i] + 1 + 1e-6);
    if (j > i && t[j] - t[i] > 0.7 && (v[j] - v[i]) / (t[j] - t[i]) < -0.3) return t[i];
  }
  return null;
}

/** When the car stood after braking that began within 2 s of the lift; null where it rolled on or where no stop was received. */
export function findStop(trace: GroundTrace, liftS: number, endS: number): number | null {
  const { t, v } = trace;
  let braked = false;
  let slowest = Number.POSITIVE_INFINITY;
  for (let i = Math.max(0, indexAtOrBefore(t, liftS)); i + 1 < t.length; i++) {
    const j = Math.min(t.length - 1, indexAtOrBefore(t, t[i] + BRAKED_FOR_S + 1e-6));
    if (j > i && (v[i] - v[j]) / (t[j] - t[i]) > BRAKING_MPS2) braked = true;
    if (!braked && t[i] > endS + 2) return null;
    if (v[i] < STAND_MPS + trace.restLevelMps) return braked && !isUnheard(trace, i) ? t[i] : null;
    if (braked) slowest = Math.min(slowest, v[i]);
    if (v[i] > slowest + GATHERED_MPS || t[i + 1] - t[i] > LOST_S) return null;
  }
  return null;
}

/** Whether epochs are missing just before epoch i. */
function isUnheard({ t }: GroundTrace, i: number): boolean {
  const step = i > 1 ? t[i] - t[i - 1] : 0;
  const usual = i > 2 ? t[i - 1] - t[i - 2] : 0;
  return step > Math.max(STOP_UNHEARD_S, 2.5 * usual);
}
