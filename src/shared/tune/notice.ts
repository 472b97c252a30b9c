/**
 * When a way of noticing spin would have noticed it, at which slip, how many false alarms it would have given, and what it would have
 * missed. The person's threshold, looking rate and lateness are replayed over stored driving. A way without its signals says why; without
 * any spin there is no result.
 */
import { LEAST_RATIO_MPS } from "../align/slip.ts";
import type { Figure } from "./figure.ts";
import { medianOver } from "./median-over.ts";
import { type NoticeWay, ranAhead, type SpinWatch, spinWatch, type WatchedDrive } from "./spin-watch.ts";
import type { TuneRun } from "./tune-run.ts";
import { ROW_S } from "./tune-samples.ts";

export interface NoticeSetting {
  readonly way: NoticeWay;
  /** m/s2 for wheel acceleration, slip ratio for the other ways. */
  readonly threshold: number;
  readonly everyS: number;
  /** From a look to its answer, s. */
  readonly lateS: number;
}

/** Common practice, no source: 100 looks a second on the bus; the receiver at its own rate. */
export const USUAL_NOTICE: Readonly<Record<NoticeWay, NoticeSetting>> = {
  acceleration: { way: "acceleration", threshold: 12, everyS: 0.01, lateS: 0 },
  wheels: { way: "wheels", threshold: 0.15, everyS: 0.01, lateS: 0 },
  receiver: { way: "receiver", threshold: 0.3, everyS: 0.1, lateS: 0 },
};

/** A recording with its stored runs, and the slip above which a run's tyre spins: more than that of best grip. */
export interface NoticeDrive extends WatchedDrive {
  readonly runs: readonly TuneRun[];
  readonly spinsOver: (run: TuneRun) => number;
}

/** A part of a run in which its wheels really spun, judged afterwards by everything recorded. */
interface Spin {
  readonly run: TuneRun;
  readonly fromS: number;
  readonly toS: number;
}

interface SpinNoticed {
  readonly run: number;
  readonly surface: string | null;
  /** Seconds after movement. */
  readonly spunAtS: number;
  /** From slip passing the spin's level to the answer; negative if the answer came earlier; null where it was missed. */
  readonly noticedAfterS: number | null;
  readonly slipThen: number | null;
}

interface NoticeCounts {
  readonly spins: number;
  readonly missed: number;
  readonly noticedAfterS: Figure | null;
  readonly slipThen: Figure | null;
}

export interface NoticeAnswer extends NoticeSetting, NoticeCounts {
  readonly unit: "m/s2" | "1";
  /** Alarms while nothing spun, and the minutes of such driving. */
  readonly falseAlarms: number;
  readonly minutes: number;
  readonly falseAlarmsPerMinute: number | null;
  readonly bySurface: readonly (NoticeCounts & { readonly surface: string | null })[];
  readonly each: readonly SpinNoticed[];
  /** Why there is no result; null where there is one. */
  readonly why: string | null;
}

const LEAST_SPIN_S = 0.05;
/** Two spins with a shorter pause count as one. */
const PAUSE_S = 0.2;
/** An alarm this long before slip passes the level belongs to the same spin, noticed early. After its end it belongs to its tail. */
const EARLY_S = 0.3;
const TAIL_S = 0.5;
const MOVING_MPS = 0.5;
/** Slip that counts as spin outside of runs, judged afterwards. */
const SPINS_ELSEWHERE = 0.2;
/** Rows before movement that belong to the launch: wheels may turn first. */
const BEFORE_ROWS = 30;

/** Spins of every run, in order of time. */
function spinsOf({ runs, spinsOver }: Pick<NoticeDrive, "runs" | "spinsOver">): Spin[] {
  return runs
    .flatMap((run) => {
      const { tS, slipSpeedMps, groundSpeedMps } = run.samples;
      const level = spinsOver(run);
      const found: { run: TuneRun; fromS: number; toS: number }[] = [];
      for (let i = Math.max(0, run.startIndex - BEFORE_ROWS); i < run.endIndex; i += 1) {
        if (!(slipSpeedMps[i] > level * Math.max(groundSpeedMps[i], LEAST_RATIO_MPS))) continue;
        const last = found[found.length - 1];
        if (last !== undefined && tS[i] - last.toS < PAUSE_S) last.toS = tS[i] + ROW_S;
        else found.push({ run, fromS: tS[i], toS: tS[i] + ROW_S });
      }
      return found.filter((spin) => spin.toS - spin.fromS >= LEAST_SPIN_S);
    })
    .sort((a, b) => a.fromS - b.fromS);
}

function slipAt({ samples }: TuneRun, tS: number): number | null {
  const i = Math.round((tS - samples.tS[0]) / ROW_S);
  const slip = samples.slipSpeedMps[i] / Math.max(samples.groundSpeedMps[i], LEAST_RATIO_MPS);
  return Number.isFinite(slip) ? slip : null;
}

interface Replayed {
  readonly each: readonly SpinNoticed[];
  readonly falseAlarms: number;
  readonly quietS: number;
}

/** One recording with one setting. */
function replay(
  watch: SpinWatch,
  spins: readonly Spin[],
  { threshold, everyS, lateS }: NoticeSetting,
  moving: (tS: number) => boolean,
): Replayed {
  const noticed = new Map<Spin, number>();
  let at = 0;
  let falseAlarms = 0;
  let quiet = 0;
  let alarmed = false;
  for (let k = 0; k < watch.tS.length; k += 1) {
    const t = watch.tS[k];
    while (at < spins.length && t > spins[at].toS + TAIL_S) at += 1;
    const spin = at < spins.length && t >= spins[at].fromS - EARLY_S ? spins[at] : null;
    const alarm = watch.value[k] > threshold;
    if (spin !== null && alarm && t + lateS <= spin.toS && !noticed.has(spin)) noticed.set(spin, t + lateS);
    if (spin === null && moving(t)) {
      quiet += 1;
      if (alarm && !alarmed) falseAlarms += 1;
    }
    alarmed = alarm;
  }
  const each = spins.map((spin): SpinNoticed => {
    const when = noticed.get(spin);
    return {
      run: spin.run.id,
      surface: spin.run.surface,
      spunAtS: spin.fromS - spin.run.movementS,
      noticedAfterS: when === undefined ? null : when - spin.fromS,
      slipThen: when === undefined ? null : slipAt(spin.run, when),
    };
  });
  return { each, falseAlarms, quietS: quiet * everyS };
}

function counts(each: readonly SpinNoticed[], everyS: number): NoticeCounts {
  return {
    spins: each.length,
    missed: each.filter(({ noticedAfterS }) => noticedAfterS === null).length,
    noticedAfterS: medianOver(
      each.flatMap(({ noticedAfterS }) => noticedAfterS ?? []),
      everyS,
    ),
    slipThen: medianOver(
      each.flatMap(({ slipThen }) => slipThen ?? []),
      0,
    ),
  };
}

/**
 * Whether the wheels turn without spinning outside of any run: standing is not driving, and a spin outside of launches is not a false
 * alarm.
 */
function quietIn(drive: WatchedDrive): (tS: number) => boolean {
  const { recording, calibration, gearRatio } = drive;
  const motor = recording.roles.motorSpeed;
  const ahead = ranAhead(drive, SPINS_ELSEWHERE);
  const least = (MOVING_MPS * gearRatio) / calibration.rollingRadiusM.value;
  let i = 0;
  return (tS) => {
    if (motor === undefined) return false;
    while (i + 1 < motor.tS.length && motor.tS[i + 1] <= tS) i += 1;
    return Math.abs(motor.value[i] ?? 0) > least && !ahead(tS);
  };
}

/** Every recording with one setting. */
export function notice(drives: readonly NoticeDrive[], setting: NoticeSetting): NoticeAnswer {
  const each: SpinNoticed[] = [];
  let [falseAlarms, quietS] = [0, 0];
  const whys: string[] = [];
  for (const drive of drives) {
    const watch = spinWatch(drive, setting.way, setting.everyS);
    if (typeof watch === "string") {
      whys.push(watch);
      continue;
    }
    const found = replay(watch, spinsOf(drive), setting, quietIn(drive));
    each.push(...found.each);
    falseAlarms += found.falseAlarms;
    quietS += found.quietS;
  }
  const surfaces = [...new Set(each.map(({ surface }) => surface))];
  const told = drives.length > whys.length;
  return {
    ...setting,
    unit: setting.way === "acceleration" ? "m/s2" : "1",
    ...counts(each, setting.everyS),
    falseAlarms,
    minutes: quietS / 60,
    falseAlarmsPerMinute: quietS > 0 ? (60 * falseAlarms) / quietS : null,
    bySurface: surfaces.map((surface) => ({
      surface,
      ...counts(
        each.filter((one) => one.surface === surface),
        setting.everyS,
      ),
    })),
    each,
    why: told
      ? each.length === 0
        ? "No run spun its wheels: there was nothing to notice."
        : null
      : (whys[0] ?? "No recording is closed yet."),
  };
}

export interface LimitPoint extends NoticeCounts {
  readonly threshold: number;
  readonly surface: string | null;
  readonly falseAlarmsPerMinute: number | null;
}

const LIMITS = [2, 3, 4, 6, 8, 10, 12, 15, 20, 25, 30, 40] as const;

/**
 * A limit on wheel acceleration at many values, for each surface (common practice, no source: a limit that suits a dry road is wrong on a
 * wet one).
 */
export function sweepLimit(drives: readonly NoticeDrive[], setting: NoticeSetting): LimitPoint[] {
  return LIMITS.flatMap((threshold) => {
    const answer = notice(drives, { ...setting, way: "acceleration", threshold });
    return answer.bySurface.map((one) => ({ threshold, falseAlarmsPerMinute: answer.falseAlarmsPerMinute, ...one }));
  });
}
