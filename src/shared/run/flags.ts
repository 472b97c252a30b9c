/** What a person should know before trusting a run, one sentence each. A flag sets nothing aside and deletes nothing. */
import { median } from "../kernel/statistics.ts";
import type { EstimateRunInput } from "../launch/estimate-input.ts";
import type { DerivedRun, Flag, FlagName } from "./run.ts";
import { indexAtOrBefore } from "../align/timed-lookup.ts";

const SPIN_RATIO_SECONDS = 0.5;
const SLOWEST_RECEIVER_HZ = 5;
const WORST_HDOP = 2;
const FEWEST_SATELLITES = 6;
const FLOORED_PERCENT = 95;
// Three of 100 Hz frames in a row, or one of a slow message: a hole that the torque integral would feel.
const FRAME_GAP_S = 0.1;

/** Flags of one run by itself (group flags: group-flags.ts). */
export function flagRun(run: Omit<DerivedRun, "flags">, input: EstimateRunInput): Flag[] {
  const flags: Flag[] = [];
  const add = (flag: FlagName, why: string | null) => {
    if (why) flags.push({ flag, why });
  };
  const { window } = input;
  add("aborted", window.endedBy === "abort" ? "The passenger aborted the run." : null);
  add("interrupted", window.endedBy === "recordingEnd" ? "The recording ended before the run did." : null);
  add("wheelspin", wheelspin(run));
  add("receiver", receiver(input));
  add("slowReceiver", slowReceiver(input));
  add("frames", frames(input));
  add("pedal", pedal(input));
  add("derated", derated(input));
  add("switched", switched(input));
  add("slope", slope(run));
  return flags;
}

function wheelspin(run: Omit<DerivedRun, "flags">): string | null {
  const { secondsAbove10Percent: seconds, peakSlipSpeedKmh: peak } = run.slip;
  if (seconds === null || seconds < SPIN_RATIO_SECONDS) return null;
  return `Slip stood above 10 % for ${seconds.toFixed(1)} s${peak === null ? "" : `, with the wheels up to ${peak.toFixed(1)} km/h ahead of the road`}.`;
}

function epochsWithin({ recording, calibration, window }: EstimateRunInput): number[] {
  const { tS } = recording.epochs;
  const delay = calibration.gnssDelayS.value;
  return [...tS.keys()].filter((i) => tS[i] - delay >= window.restS && tS[i] - delay <= window.endS);
}

function receiver(input: EstimateRunInput): string | null {
  const { epochs } = input.recording;
  const within = epochsWithin(input);
  const parts: string[] = [];
  const unknown = within.filter((i) => !Number.isFinite(epochs.speedMps[i])).length;
  if (unknown > 0) parts.push(`${unknown} of ${within.length} epochs had no valid speed`);
  let worst = 0;
  for (let k = 1; k < within.length; k++) worst = Math.max(worst, epochs.tS[within[k]] - epochs.tS[within[k - 1]]);
  const step = median(within.slice(1).map((i, k) => epochs.tS[i] - epochs.tS[within[k]]));
  if (worst > 1.6 * step) parts.push(`epochs were missing for ${worst.toFixed(2)} s`);
  const hdop = Math.max(...within.map((i) => epochs.hdop[i]).filter(Number.isFinite), 0);
  if (hdop > WORST_HDOP) parts.push(`HDOP rose to ${hdop.toFixed(1)}`);
  const satellites = Math.min(...within.map((i) => epochs.satellites[i]).filter(Number.isFinite), 99);
  if (satellites < FEWEST_SATELLITES) parts.push(`only ${satellites} satellites were used`);
  if (within.some((i) => epochs.fix[i] === "estimated")) parts.push("the receiver estimated its position without satellites");
  const hole = input.recording.gaps.find((gap) => gap.stream === "gnss" && overlaps(gap.fromNs, gap.toNs, input));
  if (hole) parts.push(`its stream had a hole (${hole.cause})`);
  return parts.length > 0 ? `Receiver: ${parts.join("; ")}.` : null;
}

const overlaps = (fromNs: number, toNs: number, { window }: EstimateRunInput) =>
  fromNs / 1e9 < window.endS && toNs / 1e9 > window.restS - 1;

function slowReceiver(input: EstimateRunInput): string | null {
  const { tS } = input.recording.epochs;
  const within = epochsWithin(input);
  const step = median(within.slice(1).map((i, k) => tS[i] - tS[within[k]]));
  if (!(step > 1.02 / SLOWEST_RECEIVER_HZ)) return null;
  return `The receiver gives ${(1 / step).toFixed(1)} epochs a second; below 5 times are shown, but comparing them is not advised.`;
}

function frames(input: EstimateRunInput): string | null {
  const { recording, window } = input;
  const hole = recording.gaps.find((gap) => gap.stream === "can" && overlaps(gap.fromNs, gap.toNs, input));
  if (hole) return `The bus stream had a hole of ${((hole.toNs - hole.fromNs) / 1e9).toFixed(2)} s (${hole.cause}).`;
  for (const role of ["motorSpeed", "torqueDelivered", "torqueRequest", "pedal"] as const) {
    const column = recording.roles[role];
    if (!column) continue;
    const begin = Math.max(1, indexAtOrBefore(column.tS, window.restS));
    const end = indexAtOrBefore(column.tS, window.endS);
    const steps: number[] = [];
    for (let i = begin; i <= end; i++) steps.push(column.tS[i] - column.tS[i - 1]);
    const typical = median(steps);
    const worst = steps.reduce((a, b) => Math.max(a, b), 0);
    if (worst > Math.max(FRAME_GAP_S, 3.5 * typical)) return `Frames of ${column.name} were missing for ${worst.toFixed(2)} s.`;
  }
  return null;
}

/** Values of a role's column inside the launch, from movement to the lift. */
function valuesOf(
  input: EstimateRunInput,
  role: "pedal" | "torqueRequest" | "torqueLimit" | "tractionControlEnabled",
  fromS: number,
): { t: number; value: number }[] {
  const column = input.recording.roles[role];
  if (!column) return [];
  const out: { t: number; value: number }[] = [];
  for (let i = Math.max(0, indexAtOrBefore(column.tS, fromS)); i < column.tS.length && column.tS[i] <= input.window.liftS; i++) {
    if (column.tS[i] >= fromS - 1) out.push({ t: column.tS[i], value: column.value[i] });
  }
  return out;
}

function pedal(input: EstimateRunInput): string | null {
  const values = valuesOf(input, "pedal", input.window.restS);
  if (values.length === 0) return null;
  const top = values.reduce((a, b) => Math.max(a, b.value), 0);
  if (top < FLOORED_PERCENT) return `The pedal was not floored: at most ${top.toFixed(0)} %.`;
  const first = values.findIndex((one) => one.value >= FLOORED_PERCENT);
  const eased = values.slice(first).filter((one) => one.t < input.window.liftS - 0.3 && one.value < FLOORED_PERCENT - 5);
  if (eased.length === 0) return null;
  const least = eased.reduce((a, b) => Math.min(a, b.value), 100);
  return `The pedal was eased to ${least.toFixed(0)} % within the run.`;
}

function derated(input: EstimateRunInput): string | null {
  const requests = valuesOf(input, "torqueRequest", input.window.restS);
  const limit = input.recording.roles.torqueLimit;
  if (!limit || requests.length === 0) return null;
  let worst = 0;
  let seconds = 0;
  for (let k = 1; k < requests.length; k++) {
    const i = indexAtOrBefore(limit.tS, requests[k].t);
    const short = i < 0 ? 0 : requests[k].value - limit.value[i];
    if (short > 0.02 * Math.abs(requests[k].value) && short > limit.quantum) {
      seconds += requests[k].t - requests[k - 1].t;
      worst = Math.max(worst, short);
    }
  }
  return seconds > 0.1 ? `The torque limit stood up to ${worst.toFixed(0)} Nm below what was asked, for ${seconds.toFixed(1)} s.` : null;
}

function switched(input: EstimateRunInput): string | null {
  const values = valuesOf(input, "tractionControlEnabled", input.window.restS);
  const change = values.find((one, k) => k > 0 && one.value !== values[k - 1].value);
  return change ? `Traction control was switched ${change.value ? "on" : "off"} within the run.` : null;
}

function slope({ altitudeChangeM, slopeSigns }: Omit<DerivedRun, "flags">): string | null {
  const lengthM = slopeSigns?.lengthM ?? null;
  // Receiver altitude wanders by a metre or so in a run; 1 % over 100 m is only just above it. Runs both ways tell more: group-flags.ts.
  if (altitudeChangeM === null || lengthM === null || lengthM < 50 || Math.abs(altitudeChangeM) < 1.5) return null;
  const grade = (100 * altitudeChangeM) / lengthM;
  if (Math.abs(grade) < 1) return null;
  return `The road ${grade > 0 ? "rose" : "fell"} by about ${Math.abs(grade).toFixed(1)} % (${Math.abs(altitudeChangeM).toFixed(1)} m by the receiver over ${lengthM.toFixed(0)} m).`;
}
