/**
 * Puts a recording's bus signals and receiver epochs on one time base. Values are never changed or interpolated. A reading or epoch that
 * comes a second time is left out, and its time is listed. A frame or epoch without a stamp gets its arrival time minus the usual delay of
 * its stream. Times never fall.
 */

import { LIST_ROLES, type ListRole, SINGLE_ROLES, type SingleRole } from "../setup/roles.ts";
import type { SetUp } from "../setup/set-up.ts";
import { isSerial } from "../setup/source-name.ts";
import type { EpochTrack, RecordingTracks, SignalTrack } from "../signals/tracks.ts";
import type { AlignedEpochs, AlignedRecording, AlignedRoles, ClockFitSummary, TimedColumn } from "./aligned-recording.ts";
import { type ClockFit, fitClock, stampStepMs } from "./clock-fit.ts";

/** With fewer stamps than this, jitter cannot be separated from drift: arrival time is used. */
const LEAST_STAMPS = 10;
/** UTC this far ahead of arrival, below any delay seen before, means that the receiver's clock was stepped, not that a burst was late. */
const UTC_STEP_MS = 500;

/** Aligns a decoded recording. Pure: the same tracks give the same result, whatever the wall clock did. */
export function alignRecording(tracks: RecordingTracks, setUp: SetUp): AlignedRecording {
  const { can } = setUp.sources;
  const bus = can !== undefined && isSerial(can) && !can.adapterClock ? null : fitBusClock(tracks);
  const mapped = sharedTimes((track) => mappedTimes(track, bus));
  const times = { mapped, lifted: sharedTimes((track) => lifted(mapped(track))) };
  const roles: Record<string, TimedColumn | TimedColumn[]> = {};
  for (const role of Object.keys(SINGLE_ROLES) as SingleRole[]) {
    const track = tracks.roles[role];
    if (track !== undefined) roles[role] = alignTrack(track, times);
  }
  for (const role of LIST_ROLES as readonly ListRole[]) {
    const list = tracks.roles[role];
    if (list !== undefined) roles[role] = list.map((track) => alignTrack(track, times));
  }
  const gnss = alignEpochs(tracks.epochs);
  return {
    roles: roles as AlignedRoles,
    epochs: gnss.epochs,
    clocks: { can: bus === null ? arrivalSummary(tracks) : summary(bus), gnss: gnss.clock },
    utcAtZeroMs: gnss.utcAtZeroMs,
    utcDrift: gnss.utcDrift,
    gaps: tracks.gaps,
    endS: tracks.endNs / 1e9,
  };
}

function summary(fit: ClockFit): ClockFitSummary {
  const { driftPpm, sigmaS, envelopeSigmaS: sharedSigmaS, medianDelayS, worstDelayS, segments } = fit;
  return { method: "stamps", driftPpm, sigmaS, sharedSigmaS, medianDelayS, worstDelayS, segments };
}

function fitBusClock(tracks: RecordingTracks): ClockFit | null {
  const { adapterMs, arrivalNs, clockSegment } = tracks.busClock;
  const stamped = Array.from(adapterMs.keys()).filter((i) => Number.isFinite(adapterMs[i]));
  if (stamped.length < LEAST_STAMPS || stamped.length * 2 < adapterMs.length) return null;
  const ms = stamped.map((i) => adapterMs[i]);
  const arrival = stamped.map((i) => arrivalNs[i]);
  return fitClock(
    ms,
    arrival,
    stamped.map((i) => clockSegment[i]),
    stampStepMs(ms),
  );
}

/** Without stamps, the spread of a periodic signal's arrivals is the only measure of how well a frame's time is known. */
function arrivalSummary(tracks: RecordingTracks): ClockFitSummary | null {
  const track = tracks.roles.motorSpeed;
  if (track === undefined || track.arrivalNs.length < 3) return null;
  const steps: number[] = [];
  for (let i = 1; i < track.arrivalNs.length; i++) {
    const stepS = (track.arrivalNs[i] - track.arrivalNs[i - 1]) / 1e9;
    if (stepS < 0.25) steps.push(stepS);
  }
  if (steps.length < 2) return null;
  const mean = steps.reduce((sum, step) => sum + step, 0) / steps.length;
  const variance = steps.reduce((sum, step) => sum + (step - mean) ** 2, 0) / steps.length;
  const sigmaS = Math.sqrt(variance / 2);
  // Frames are late by their mean jitter. Nothing here separates that from the receiver's delay.
  return { method: "arrival", driftPpm: 0, sigmaS, sharedSigmaS: sigmaS, medianDelayS: 0, worstDelayS: largest(steps) - mean, segments: 1 };
}

function largest(values: readonly number[]): number {
  return values.reduce((best, value) => Math.max(best, value), 0);
}

/** Times on the base of a track's frames, in their order. */
type TimesOf = (track: SignalTrack) => Float64Array;

/** Signals of one message share its columns (signals/frame-rows.ts): their times are then computed once, and shared too. */
function sharedTimes(compute: TimesOf): TimesOf {
  const known = new Map<Float64Array, { readonly track: SignalTrack; readonly tS: Float64Array }>();
  return (track) => {
    const before = known.get(track.arrivalNs);
    if (before?.track.adapterMs === track.adapterMs && before.track.clockSegment === track.clockSegment) return before.tS;
    const tS = compute(track);
    known.set(track.arrivalNs, { track, tS });
    return tS;
  };
}

function mappedTimes({ arrivalNs, adapterMs, clockSegment }: SignalTrack, bus: ClockFit | null): Float64Array {
  const tS = new Float64Array(arrivalNs.length);
  for (let i = 0; i < tS.length; i++) {
    const arrivalS = arrivalNs[i] / 1e9;
    const mapped = bus === null ? arrivalS : bus.toBaseS(adapterMs[i], clockSegment[i]);
    tS[i] = bus === null || Number.isFinite(mapped) ? mapped : arrivalS - bus.medianDelayS;
  }
  return tS;
}

/** Times never fall: one that would is that of the frame before. */
function lifted(mapped: Float64Array): Float64Array {
  const tS = mapped.slice();
  for (let i = 1; i < tS.length; i++) if (tS[i] < tS[i - 1]) tS[i] = tS[i - 1];
  return tS;
}

interface BaseTimes {
  /** As the clock gives them. */
  readonly mapped: TimesOf;
  readonly lifted: TimesOf;
}

function alignTrack(track: SignalTrack, times: BaseTimes): TimedColumn {
  const { name, quantum, unit } = track;
  const again = repeatedReadings(track);
  if (again.length === 0) return { name, tS: times.lifted(track), value: track.value, quantum, unit };
  const mapped = times.mapped(track);
  const tS = new Float64Array(mapped.length - again.length);
  const value = new Float64Array(tS.length);
  let latest = -Infinity;
  let skipped = 0;
  for (let i = 0; i < mapped.length; i++) {
    if (again[skipped] === i) {
      skipped += 1;
      continue;
    }
    if (mapped[i] > latest) latest = mapped[i];
    tS[i - skipped] = latest;
    value[i - skipped] = track.value[i];
  }
  return { name, tS, value, quantum, unit, repeatedS: Float64Array.from(again, (i) => track.arrivalNs[i] / 1e9) };
}

/**
 * Finds readings that an adapter sent twice: stamp and value are those of the last one, or the stamp lies before it. Kept, they would count
 * as new information, and an old value at a new time would bend the curve. Without stamps they cannot be recognised.
 */
function repeatedReadings({ adapterMs, clockSegment, value }: SignalTrack): Uint32Array {
  let again = new Uint32Array(0);
  let count = 0;
  let last = -1;
  for (let i = 0; i < adapterMs.length; i++) {
    if (Number.isNaN(adapterMs[i])) continue;
    const aheadMs = last >= 0 && clockSegment[i] === clockSegment[last] ? adapterMs[i] - adapterMs[last] : 1;
    if (aheadMs > 0 || (aheadMs === 0 && value[i] !== value[last])) {
      last = i;
      continue;
    }
    if (count === 0) again = new Uint32Array(adapterMs.length - i);
    again[count++] = i;
  }
  return again.subarray(0, count);
}

interface AlignedGnss {
  readonly epochs: AlignedEpochs;
  readonly clock: ClockFitSummary | null;
  readonly utcAtZeroMs: number | null;
  readonly utcDrift: number;
}

function alignEpochs(track: EpochTrack): AlignedGnss {
  const segment = utcSegments(track);
  const timed: number[] = [];
  for (let i = 0; i < segment.length; i++) if (segment[i] >= 0) timed.push(i);
  const fit =
    timed.length < LEAST_STAMPS
      ? null
      : fitClock(
          timed.map((i) => track.utcMs[i]),
          timed.map((i) => track.arrivalNs[i]),
          timed.map((i) => segment[i]),
          0,
        );
  const keep: number[] = [];
  const times: number[] = [];
  const again: number[] = [];
  let latest = -Infinity;
  let before = -1;
  for (let i = 0; i < segment.length; i++) {
    const arrivalS = track.arrivalNs[i] / 1e9;
    const stamped = segment[i] >= 0 && fit !== null;
    if (
      segment[i] === CAME_BEFORE ||
      (stamped && before >= 0 && segment[i] === segment[before] && track.utcMs[i] === track.utcMs[before])
    ) {
      again.push(arrivalS);
      continue;
    }
    if (stamped) before = i;
    latest = Math.max(latest, stamped ? fit.toBaseS(track.utcMs[i], segment[i]) : arrivalS - (fit?.medianDelayS ?? 0));
    keep.push(i);
    times.push(latest);
  }
  const pick = (column: Float64Array) => Float64Array.from(keep, (i) => column[i]);
  const epochs: AlignedEpochs = {
    tS: Float64Array.from(times),
    burstBytes: pick(track.burstBytes),
    utcMs: pick(track.utcMs),
    dated: track.dated,
    speedMps: pick(track.speedMps),
    speedQuantumMps: pick(track.speedQuantumMps),
    courseDeg: pick(track.courseDeg),
    latDeg: pick(track.latDeg),
    lonDeg: pick(track.lonDeg),
    altM: pick(track.altM),
    hdop: pick(track.hdop),
    satellites: pick(track.satellites),
    fix: keep.map((i) => track.fix[i]),
    ...(again.length === 0 ? {} : { repeatedS: Float64Array.from(again) }),
  };
  if (fit === null) return { epochs, clock: null, utcAtZeroMs: null, utcDrift: 0 };
  const utcDrift = 1 / (1 + fit.driftPpm / 1e6) - 1;
  // The last epoch's segment: after the receiver's clock was stepped, the later time is the better one.
  const last = timed[timed.length - 1];
  const lastS = fit.toBaseS(track.utcMs[last], segment[last]);
  const utcAtZeroMs = track.dated ? track.utcMs[last] - 1000 * lastS * (1 + utcDrift) : null;
  return { epochs, clock: summary(fit), utcAtZeroMs, utcDrift };
}

const NO_UTC = -1;
const CAME_BEFORE = -2;
/** Number of epochs that are searched for a repeat: a few bursts. */
const REMEMBERED = 64;

/**
 * Numbers the segments of the receiver's UTC without a step; NO_UTC where an epoch has no UTC, CAME_BEFORE where it repeats an earlier one.
 */
function utcSegments(track: EpochTrack): Int32Array {
  const segment = new Int32Array(track.utcMs.length).fill(NO_UTC);
  let current = 0;
  let before = -1;
  let leastDelayMs = Infinity;
  for (let i = 0; i < segment.length; i++) {
    if (!Number.isFinite(track.utcMs[i])) continue;
    const delayMs = track.arrivalNs[i] / 1e6 - track.utcMs[i];
    if (before >= 0) {
      const utcStepMs = track.utcMs[i] - track.utcMs[before];
      const arrivalStepMs = (track.arrivalNs[i] - track.arrivalNs[before]) / 1e6;
      if (utcStepMs < 0 && cameBefore(track, segment, i)) {
        segment[i] = CAME_BEFORE;
        continue;
      }
      const steppedAhead = utcStepMs - arrivalStepMs > UTC_STEP_MS && delayMs < leastDelayMs - UTC_STEP_MS;
      if (utcStepMs < 0 || (steppedAhead && utcStepMs > 2 * UTC_STEP_MS)) {
        current += 1;
        leastDelayMs = Infinity;
      }
    }
    leastDelayMs = Math.min(leastDelayMs, delayMs);
    segment[i] = current;
    before = i;
  }
  return segment;
}

/**
 * Whether the same UTC came a few epochs ago with the same speed, or with one of the two speeds missing. A stepped clock would not give
 * that.
 */
function cameBefore({ utcMs, speedMps }: EpochTrack, segment: Int32Array, i: number): boolean {
  for (let k = i - 1; k >= Math.max(0, i - REMEMBERED); k--) {
    if (segment[k] < 0 || utcMs[k] !== utcMs[i]) continue;
    return speedMps[k] === speedMps[i] || Number.isNaN(speedMps[k]) || Number.isNaN(speedMps[i]);
  }
  return false;
}
