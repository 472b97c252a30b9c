/**
 * A recording's runs from its packets, set-up and calibration alone: the one derivation that import, closing a live recording, replay and rederive
 * share. Memory is bounded by a chapter of it (chapters.ts), not by its length. Without ground speed there are no runs.
 */
import type { AlignedRecording } from "../align/aligned-recording.ts";
import { calibrate } from "../align/calibrate.ts";
import type { Calibration } from "../align/calibration.ts";
import { fingerprint } from "../kernel/fingerprint.ts";
import { findLaunches, type LaunchWindow, whyNothingTimed } from "../launch/find-launches.ts";
import type { Gate } from "../launch/gate.ts";
import type { Mark } from "../launch/mark.ts";
import { type RollingPull, rollingPulls } from "../launch/rolling-pulls.ts";
import type { DerivedRun } from "../run/run.ts";
import { createWiringWatch } from "./wiring-watch.ts";
import type { WiringFault } from "./wiring-faults.ts";
import { type Chapter, type ChapterOptions, type Chapters, createChapters } from "./chapters.ts";
import { ALONE, type LaunchTeam, type Timing } from "./launch-team.ts";

/** Seconds of receiver and motor data on either side of the trigger from which a launch's name is made. */
const NAMING_HALF_WIDTH_S = 2;

interface DerivedRecording<R> {
  readonly calibration: Calibration;
  readonly runs: readonly R[];
  /** What the recording shows to be wired wrongly under this set-up. */
  readonly wiring: readonly WiringFault[];
  /** Pulls that began rolling: they are not timed. */
  readonly rolling: readonly RollingPull[];
}

export interface DeriveOptions<R> extends ChapterOptions {
  readonly gates: readonly Gate[];
  /** Null fits one on this recording: `packets` of a long one are then asked for twice. */
  readonly calibration: Calibration | null;
  readonly marks: readonly Mark[];
  /** Makes of each run, in order of time, what is held until the last one is there. */
  readonly keep: (run: DerivedRun, recording: AlignedRecording) => R;
  /** Absent: launches are timed one after the other. */
  readonly team?: LaunchTeam;
}

/** Seen in two chapters it is one. */
const SAME_PULL_S = 1;

/** Shares of the work, from a day of twelve launches: reading, then fitting the calibration of a recording of one chapter; the rest is timing launches. */
const READ = 0.4;
const CALIBRATED = 0.64;
/** Share of fitting a long recording's calibration in the whole. */
const FITTED = 0.4;

type Steps<T> = Generator<number, T, undefined>;

/** In steps, each giving the share that is done, so that a caller may show it and take a breath. Throws RoleError where the set-up's signals cannot hold. */
export function* deriveRecording<R>(options: DeriveOptions<R>): Steps<DerivedRecording<R>> {
  const fit = options.calibration === null ? yield* fitted(options) : { calibration: options.calibration, chapters: null };
  const { calibration } = fit;
  const done = createShares(options.calibration !== null ? "calibrated before" : fit.chapters === null ? "fitted" : "read and fitted");
  const runs: R[] = [];
  const rolling: RollingPull[] = [];
  const watch = createWiringWatch(options);
  const chapters = fit.chapters ?? createChapters(options);
  if (fit.chapters === null) yield* reading(chapters.next(), done);
  const take = (run: DerivedRun, recording: AlignedRecording) => runs.push(options.keep(run, recording));
  let afterS = Number.NEGATIVE_INFINITY;
  while (chapters.current !== null) {
    const { endedS, begun } = yield* runsIn(chapters, options, { calibration, afterS, done, take });
    afterS = endedS;
    try {
      const { recording } = chapters.current;
      watch.add(recording, calibration);
      // Chapters overlap.
      const fromS = rolling.at(-1)?.atS ?? Number.NEGATIVE_INFINITY;
      rolling.push(...rollingPulls(recording, calibration).filter(({ atS }) => atS > fromS + SAME_PULL_S));
      yield* reading(chapters.next(), done);
      if (begun !== null) yield* timed(begun, done, take);
    } finally {
      begun?.timing.drop();
    }
  }
  done.read(1);
  yield done.timed(1);
  return { calibration, runs, wiring: watch.faults(chapters.frames()), rolling };
}

/** What is done of the whole, by what of the recording was read and timed: each 0 to 1, and never less than before. */
interface Shares {
  read(share: number): number;
  timed(share: number): number;
  /** Of the recording, timed by now. */
  readonly timedShare: number;
}

function createShares(before: "calibrated before" | "fitted" | "read and fitted"): Shares {
  const from = before === "fitted" ? FITTED : 0;
  const fit = before === "read and fitted" ? CALIBRATED - READ : 0;
  let [readShare, timedShare] = [before === "read and fitted" ? 1 : 0, 0];
  const whole = () => from + (1 - from) * (READ * readShare + fit + (1 - READ - fit) * timedShare);
  return {
    read(share) {
      readShare = Math.max(readShare, share);
      return whole();
    },
    timed(share) {
      timedShare = Math.max(timedShare, share);
      return whole();
    },
    get timedShare() {
      return timedShare;
    },
  };
}

function* reading<T>(steps: Steps<T>, done: Shares): Steps<T> {
  let step = steps.next();
  for (; step.done !== true; step = steps.next()) yield done.read(step.value);
  return step.value;
}

interface Begun {
  readonly timing: Timing;
  readonly launches: number;
  /** Of the recording: to where the chapter goes. */
  readonly share: number;
}

function* timed({ timing, launches, share }: Begun, done: Shares, take: Doing["take"]): Steps<void> {
  const from = done.timedShare;
  for (let taken = 0; taken < launches; ) {
    const run = timing.next();
    if (run !== null) {
      take(run, timing.recording);
      taken += 1;
    }
    yield done.timed(from + ((share - from) * taken) / launches);
  }
  yield done.timed(share);
}

/** The calibration alone. */
export function* fitRecording<R>(options: DeriveOptions<R>): Steps<Calibration> {
  return (yield* fitted(options)).calibration;
}

/** Shares of a part of the work as shares of the whole. */
function* spread(steps: Steps<void>, share: number): Steps<void> {
  for (let step = steps.next(); step.done !== true; step = steps.next()) yield share * step.value;
}

interface Fit {
  readonly calibration: Calibration;
  /** At the only chapter, where there is no other: it need not be read again. */
  readonly chapters: Chapters | null;
}

/** Of all chapters' calibrations the one that tells most. */
function* fitted<R>(options: DeriveOptions<R>): Steps<Fit> {
  const chapters = createChapters(options);
  yield* spread(chapters.next(), READ);
  let best: Calibration | null = null;
  while (chapters.current !== null) {
    const { recording, isLast } = chapters.current;
    const calibration = calibrate(recording, options.setUp, null);
    if (best === null && isLast) {
      yield CALIBRATED;
      return { calibration, chapters };
    }
    if (best === null || tellsMore(calibration, best)) best = calibration;
    yield* spread(chapters.next(), FITTED);
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
  readonly done: Shares;
  readonly take: (run: DerivedRun, recording: AlignedRecording) => void;
}

/**
 * The runs of the current chapter, with as much of what comes after it as the last of them needs. Where others time them too they are only begun: the
 * next chapter is read meanwhile.
 */
function* runsIn<R>(
  chapters: Chapters,
  { setUp, marks, gates, team = ALONE }: DeriveOptions<R>,
  { calibration, afterS, done, take }: Doing,
): Steps<{ readonly endedS: number; readonly begun: Begun | null }> {
  const find = ({ recording, untilS }: Chapter) =>
    whyNothingTimed(recording) === null
      ? findLaunches(recording, calibration, setUp, marks, gates).filter(({ restS }) => restS > afterS && restS < untilS)
      : [];
  let windows = find(chapters.current as Chapter);
  while (isCut(windows, chapters.current as Chapter) && (yield* reading(chapters.longer(), done)))
    windows = find(chapters.current as Chapter);
  const { recording, share } = chapters.current as Chapter;
  const launches = windows.map((window) => ({ window, uid: launchName(recording, window) }));
  const last = windows.at(-1);
  const endedS = last === undefined ? afterS : (last.stopS ?? last.endS);
  const timing = team.time({ recording, calibration, setUp, gates, launches });
  const begun = { timing, launches: launches.length, share };
  if (timing.isBeside) return { endedS, begun };
  yield* timed(begun, done, take);
  return { endedS, begun: null };
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
