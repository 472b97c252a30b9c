/** What a person should know before trusting a run, one sentence each. A flag sets no run aside and deletes nothing. */
import { silencesOf } from "../align/silences.ts";
import { median } from "../kernel/statistics.ts";
import type { EstimateRunInput } from "../launch/estimate-input.ts";
import type { DerivedRun, Flag, FlagName } from "./run.ts";
import { indexAtOrBefore } from "../align/timed-lookup.ts";

const SPIN_RATIO_SECONDS = 0.5;
const SLOWEST_RECEIVER_HZ = 5;
export const WORST_HDOP = 2;
export const FEWEST_SATELLITES = 6;
const FLOORED_PERCENT = 95;
// Three 100 Hz frames in a row, or one frame of a slow message: long enough to change the integral of torque.
const FRAME_GAP_S = 0.1;
// One or two repeats may be an adapter's normal way of delaying a frame.
const LEAST_REPEATED = 3;

/** Flags of one run by itself (flags by comparison with other runs: group-flags.ts). */
export function flagRun(run: Omit<DerivedRun, "flags">, input: EstimateRunInput): Flag[] {
  const flags: Flag[] = [];
  const add = (flag: FlagName, why: string | null) => {
    if (why) flags.push({ flag, why });
  };
  const { window } = input;
  add("aborted", window.endedBy === "abort" ? "The passenger aborted the run." : null);
  add("interrupted", window.endedBy === "recordingEnd" ? "The recording ended before the run did." : null);
  add("wheelspin", wheelspin(run));
  add("receiver", receiver(input, run.movementS));
  add("slowReceiver", slowReceiver(input));
  add("frames", frames(input, run.movementS));
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

/** Indices of the epochs from standing to the end, rising. */
function epochsWithin({ recording, calibration, window }: EstimateRunInput): number[] {
  const { tS } = recording.epochs;
  const delay = calibration.gnssDelayS.value;
  const first = indexAtOrBefore(tS, window.restS + delay - 1e-9) + 1;
  const last = indexAtOrBefore(tS, window.endS + delay);
  return Array.from({ length: Math.max(0, last - first + 1) }, (_, k) => first + k);
}

/** The end of the run, or of the braking that followed it; a stream that was lost there stays silent from then on. */
const heardUntil = ({ window }: EstimateRunInput) => (window.stopS ?? window.endS) + 0.05;

/** When something began, in words. */
function sinceStart(tS: number, movementS: number): string {
  const s = tS - movementS;
  return `from ${Math.abs(s).toFixed(1)} s ${s < 0 ? "before" : "after"} the start`;
}

const ofSeconds = (s: number) => `${s.toFixed(2)} s`;

function receiver(input: EstimateRunInput, movementS: number): string | null {
  const { epochs } = input.recording;
  const within = epochsWithin(input);
  const parts: string[] = [];
  const unknown = within.filter((i) => !Number.isFinite(epochs.speedMps[i])).length;
  if (unknown > 0) parts.push(`${unknown} of ${within.length} epochs had no valid speed`);
  const missing = missingEpochs(input, within);
  if (missing) parts.push(`epochs were missing for ${ofSeconds(missing.lengthS)}, ${sinceStart(missing.fromS, movementS)}`);
  const again = timesWithin(epochs.repeatedS, input);
  if (again >= LEAST_REPEATED) parts.push(`${again} epochs came more than once and were counted once`);
  const hdop = Math.max(...within.map((i) => epochs.hdop[i]).filter(Number.isFinite), 0);
  if (hdop > WORST_HDOP) parts.push(`HDOP rose to ${hdop.toFixed(1)}`);
  const satellites = Math.min(...within.map((i) => epochs.satellites[i]).filter(Number.isFinite), 99);
  if (satellites < FEWEST_SATELLITES) parts.push(`only ${satellites} satellites were used`);
  if (within.some((i) => epochs.fix[i] === "estimated")) parts.push("the receiver estimated its position without satellites");
  const hole = holeOf("gnss", input);
  if (hole) parts.push(`its stream had a hole of ${ofSeconds(hole.lengthS)} (${hole.cause}), ${sinceStart(hole.fromS, movementS)}`);
  return parts.length > 0 ? `Receiver: ${parts.join("; ")}.` : null;
}

/** The longest time without an epoch that overlaps the run; null where no epoch was missing. */
function missingEpochs(input: EstimateRunInput, within: readonly number[]): { fromS: number; lengthS: number } | null {
  const { tS } = input.recording.epochs;
  const delay = input.calibration.gnssDelayS.value;
  const step = median(within.slice(1).map((i) => tS[i] - tS[i - 1]));
  const first = Math.max(1, within[0] ?? 1);
  let worst = { fromS: 0, lengthS: 0 };
  for (let i = first; i < tS.length && tS[i - 1] - delay < heardUntil(input); i++) {
    if (tS[i] - tS[i - 1] > worst.lengthS) worst = { fromS: tS[i - 1] - delay, lengthS: tS[i] - tS[i - 1] };
  }
  const lastS = (tS[tS.length - 1] ?? Number.NaN) - delay;
  if (input.window.endedBy !== "recordingEnd" && heardUntil(input) - lastS > worst.lengthS) {
    worst = { fromS: lastS, lengthS: input.recording.endS - lastS };
  }
  return worst.lengthS > 1.6 * step ? worst : null;
}

const timesWithin = (tS: Float64Array | undefined, input: EstimateRunInput) =>
  tS === undefined ? 0 : indexAtOrBefore(tS, heardUntil(input)) - indexAtOrBefore(tS, input.window.restS);

/** A hole that the source itself reported. */
function holeOf(stream: "can" | "gnss", input: EstimateRunInput): { fromS: number; lengthS: number; cause: string } | null {
  const hole = input.recording.gaps.find(
    (gap) => gap.stream === stream && gap.fromNs / 1e9 < heardUntil(input) && gap.toNs / 1e9 > input.window.restS - 1,
  );
  return hole ? { fromS: hole.fromNs / 1e9, lengthS: (hole.toNs - hole.fromNs) / 1e9, cause: hole.cause } : null;
}

function slowReceiver(input: EstimateRunInput): string | null {
  const { tS } = input.recording.epochs;
  const within = epochsWithin(input);
  const step = median(within.slice(1).map((i, k) => tS[i] - tS[within[k]]));
  if (!(step > 1.02 / SLOWEST_RECEIVER_HZ)) return null;
  return `The receiver sends at ${(1 / step).toFixed(1)} Hz; below 5 Hz times are shown, but comparing them is not advised.`;
}

function frames(input: EstimateRunInput, movementS: number): string | null {
  const { recording, window } = input;
  const hole = holeOf("can", input);
  if (hole) return `The bus stream had a hole of ${ofSeconds(hole.lengthS)} (${hole.cause}), ${sinceStart(hole.fromS, movementS)}.`;
  const columns = (["motorSpeed", "torqueDelivered", "torqueRequest", "pedal"] as const).flatMap((role) => recording.roles[role] ?? []);
  for (const column of columns) {
    const [silence] = silencesOf(column.tS, window.restS, Math.min(heardUntil(input), recording.endS), FRAME_GAP_S);
    if (silence)
      return `Frames of ${column.name} were missing for ${ofSeconds(silence.toS - silence.fromS)}, ${sinceStart(silence.fromS, movementS)}.`;
  }
  for (const column of columns) {
    const again = timesWithin(column.repeatedS, input);
    if (again >= LEAST_REPEATED) return `${again} frames of ${column.name} came more than once and were counted once.`;
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
  // Receiver altitude drifts by about a metre in a run, and 1 % over 100 m is only just more than that. Runs in both directions show more:
  // group-flags.ts.
  if (altitudeChangeM === null || lengthM === null || lengthM < 50 || Math.abs(altitudeChangeM) < 1.5) return null;
  const grade = (100 * altitudeChangeM) / lengthM;
  if (Math.abs(grade) < 1) return null;
  return `The road ${grade > 0 ? "rose" : "fell"} by about ${Math.abs(grade).toFixed(1)} % (${Math.abs(altitudeChangeM).toFixed(1)} m by the receiver over ${lengthM.toFixed(0)} m).`;
}
