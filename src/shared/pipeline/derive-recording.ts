/**
 * A recording's runs from its packets, set-up and calibration alone: the one derivation that import, closing a live recording, replay and rederive
 * share. Memory is bounded by a chapter of it (chapters.ts), not by its length. Without ground speed there are no runs.
 */
import type { AlignedRecording } from "../align/aligned-recording.ts";
import { calibrate } from "../align/calibrate.ts";
import type { Calibration } from "../align/calibration.ts";
import { fingerprint } from "../kernel/fingerprint.ts";
import { estimateRun } from "../run/estimate-run.ts";
import { findLaunches, type LaunchWindow, whyNothingTimed } from "../launch/find-launches.ts";
import type { Gate } from "../launch/gate.ts";
import type { Mark } from "../launch/mark.ts";
import type { DerivedRun } from "../run/run.ts";
import { createWiringWatch } from "./wiring-watch.ts";
import type { WiringFault } from "./wiring-faults.ts";
import { type Chapter, type ChapterOptions, type Chapters, createChapters } from "./chapters.ts";

/** Seconds of receiver and motor data on either side of the trigger from which a launch's name is made. */
const NAMING_HALF_WIDTH_S = 2;

interface DerivedRecording<R> {
  readonly calibration: Calibration;
  readonly runs: readonly R[];
  /** What the recording shows to be wired wrongly under this set-up. */
  readonly wiring: readonly WiringFault[];
}

export interface DeriveOptions<R> extends ChapterOptions {
  readonly gates: readonly Gate[];
  /** Null fits one on this recording: `packets` of a long one are then asked for twice. */
  readonly calibration: Calibration | null;
  readonly marks: readonly Mark[];
  /** Makes of each run, in order of time, what is held until the last one is there. */
  readonly keep: (run: DerivedRun, recording: AlignedRecording) => R;
}

/** Shares of a chapter's work, from a day of twelve launches: reading, then fitting the calibration, then each launch. */
const READ = 0.4;
const CALIBRATED = 0.64;
/** Share of fitting a long recording's calibration in the whole. */
const FITTED = 0.4;

type Steps<T> = Generator<number, T, undefined>;

/** In steps, each giving the share that is done, so that a caller may show it and take a breath. Throws RoleError where the set-up's signals cannot hold. */
export function* deriveRecording<R>(options: DeriveOptions<R>): Steps<DerivedRecording<R>> {
  const fit = options.calibration === null ? yield* fitted(options) : { calibration: options.calibration, chapters: null };
  const { calibration } = fit;
  const from = options.calibration === null && fit.chapters === null ? FITTED : 0;
  const runs: R[] = [];
  const watch = createWiringWatch(options);
  const chapters = fit.chapters ?? createChapters(options);
  if (fit.chapters === null) yield* spread(chapters.next(), from, READ);
  let [endedS, share, worked] = [Number.NEGATIVE_INFINITY, 0, fit.chapters === null ? READ : CALIBRATED];
  while (chapters.current !== null) {
    const seen = yield* runsIn(chapters, options, { calibration, afterS: endedS, from, share, worked });
    runs.push(...seen.runs);
    watch.add(chapters.current.recording, calibration);
    [endedS, share, worked] = [seen.endedS, chapters.current.share, READ];
    yield* spread(chapters.next(), from, 1);
  }
  return { calibration, runs, wiring: watch.faults(chapters.frames()) };
}

/** The calibration alone. */
export function* fitRecording<R>(options: DeriveOptions<R>): Steps<Calibration> {
  return (yield* fitted(options)).calibration;
}

/** Shares of a part of the work as shares of the whole, of which `from` is done. */
function* spread<T>(steps: Steps<T>, from: number, share: number): Steps<T> {
  let step = steps.next();
  for (; step.done !== true; step = steps.next()) yield from + (1 - from) * share * step.value;
  return step.value;
}

interface Fit {
  readonly calibration: Calibration;
  /** At the only chapter, where there is no other: it need not be read again. */
  readonly chapters: Chapters | null;
}

/** Of all chapters' calibrations the one that tells most. */
function* fitted<R>(options: DeriveOptions<R>): Steps<Fit> {
  const chapters = createChapters(options);
  yield* spread(chapters.next(), 0, READ);
  let best: Calibration | null = null;
  while (chapters.current !== null) {
    const { recording, isLast } = chapters.current;
    const calibration = calibrate(recording, options.setUp, null);
    if (best === null && isLast) {
      yield CALIBRATED;
      return { calibration, chapters };
    }
    if (best === null || tellsMore(calibration, best)) best = calibration;
    yield* spread(chapters.next(), 0, FITTED);
  }
  return { calibration: best as Calibration, chapters: null };
}

/** By the radius where one of them has it, else by the delay, else by how much gentle driving there was. */
function tellsMore(a: Calibration, b: Calibration): boolean {
  for (const figure of ["rollingRadiusM", "gnssDelayS"] as const) {
    const [known, other] = [a[figure].from === "calibrated", b[figure].from === "calibrated"];
    if (known !== other) return known;
    if (known) return a[figure].plusMinus95 < b[figure].plusMinus95;
  }
  return a.usedS > b.usedS;
}

interface Doing {
  readonly calibration: Calibration;
  /** End of the launch before. */
  readonly afterS: number;
  /** Share of the whole that was done before this pass over the recording, of the pass before this chapter, and of the chapter's work. */
  readonly from: number;
  readonly share: number;
  readonly worked: number;
}

/** The runs of the current chapter, with as much of what comes after it as the last of them needs. */
function* runsIn<R>(
  chapters: Chapters,
  { setUp, marks, gates, keep }: DeriveOptions<R>,
  { calibration, afterS, from, share, worked }: Doing,
): Steps<{ readonly runs: R[]; readonly endedS: number }> {
  const find = ({ recording, untilS }: Chapter) =>
    whyNothingTimed(recording) === null
      ? findLaunches(recording, calibration, setUp, marks, gates).filter(({ restS }) => restS > afterS && restS < untilS)
      : [];
  let windows = find(chapters.current as Chapter);
  while (isCut(windows, chapters.current as Chapter) && (yield* spread(chapters.longer(), from, 1)))
    windows = find(chapters.current as Chapter);
  const { recording, share: read } = chapters.current as Chapter;
  const runs: R[] = [];
  for (const window of windows) {
    const uid = launchName(recording, window);
    runs.push(keep(estimateRun({ recording, calibration, setUp, window, gates, uid }), recording));
    const inChapter = worked + (1 - worked) * (runs.length / windows.length);
    yield from + (1 - from) * (share + (read - share) * inChapter);
  }
  const last = windows.at(-1);
  return { runs, endedS: last === undefined ? afterS : (last.stopS ?? last.endS) };
}

const isCut = (windows: readonly LaunchWindow[], { recording }: Chapter) => windows.some(({ toS }) => toS >= recording.endS);

/** The same launch gets the same name from live bytes, from their log and from the journal: only data around its trigger counts. */
export function launchName(recording: AlignedRecording, window: LaunchWindow): string {
  const fromS = window.restS - NAMING_HALF_WIDTH_S;
  const toS = window.restS + NAMING_HALF_WIDTH_S;
  const values: number[] = [];
  const { epochs, roles } = recording;
  for (let i = 0; i < epochs.tS.length; i++) {
    if (epochs.tS[i] >= fromS && epochs.tS[i] < toS) values.push(epochs.utcMs[i], epochs.speedMps[i], epochs.latDeg[i], epochs.lonDeg[i]);
  }
  const motor = roles.motorSpeed;
  for (let i = 0; motor !== undefined && i < motor.tS.length; i++) {
    if (motor.tS[i] >= fromS && motor.tS[i] < toS) values.push(motor.value[i]);
  }
  return fingerprint(values);
}
