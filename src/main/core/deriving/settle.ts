/**
 * Makes a closed recording's runs final: one calibration, every run derived once, all in one commit. Runs keep their id, uid, label, note
 * and review when they are derived again; one that is no longer found is kept and flagged. After an error the book is as before.
 */
import { drain } from "../../../shared/kernel/drain.ts";
import type { Gate } from "../../../shared/launch/gate.ts";
import type { Mark } from "../../../shared/launch/mark.ts";
import type { RollingPull } from "../../../shared/launch/rolling-pulls.ts";
import type { Flag } from "../../../shared/run/run.ts";
import type { BadRun, Book, RunFigures, StoredRun } from "../../ports/book.ts";
import { UNARMED } from "../../../shared/run/unarmed.ts";
import { NS_PER_US } from "../../../shared/kernel/units.ts";
import type { LaunchTeam } from "../../../shared/pipeline/launch-team.ts";
import type { WiringFault } from "../../../shared/pipeline/wiring-faults.ts";
import { setWiring } from "../library/wiring-state.ts";
import { type Derived, deriveSteps, type FreshRun } from "./derive.ts";

export interface SettleOptions {
  readonly gates: readonly Gate[];
  /** True: fit a new calibration although the recording has one. */
  readonly recalibrate: boolean;
  /** Who times the launches; absent: this thread. */
  readonly team?: LaunchTeam | undefined;
}

export interface Settled {
  readonly runs: readonly number[];
  readonly calibration: number;
  /** Runs that an earlier derivation found and this one does not find. */
  readonly lost: readonly number[];
  /** What is wired wrongly, as the recording shows. */
  readonly wiring: readonly WiringFault[];
  /** Pulls that began rolling: they are not timed. */
  readonly rolling: readonly RollingPull[];
}

const LOST: Flag = {
  flag: "interrupted",
  why: "Deriving the recording again no longer finds this launch: its figures are those of before.",
};

/** What identifies a stored run, whether its figures can be read or not. */
export type Known = Pick<StoredRun, "id" | "uid" | "final">;

/** Live recordings begin disarmed; imported logs have no such marks. */
function neverArmed(marks: readonly Mark[]): boolean {
  return marks.some(({ kind }) => kind === "disarm") && !marks.some(({ kind }) => kind === "arm");
}

/** Seconds that the launches of two runs have in common: from movement to the end of what is kept. */
function overlapS(a: RunFigures, b: RunFigures): number {
  return Math.min(a.windowToS, b.windowToS) - Math.max(a.movementS, b.movementS);
}

/**
 * Pairs each fresh run with the stored run that it overlaps most, otherwise with one of the same name (a run that was cut short may not
 * overlap). Each is used once.
 */
export function matchRuns(fresh: readonly FreshRun[], stored: readonly StoredRun[]): Map<FreshRun, StoredRun> {
  const pairs = fresh
    .flatMap((run) => stored.map((old) => ({ run, old, sharedS: overlapS(run.figures, old.figures) })))
    .filter(({ run, old, sharedS }) => sharedS > 0 || run.uid === old.uid)
    .sort((a, b) => b.sharedS - a.sharedS);
  const matched = new Map<FreshRun, StoredRun>();
  const taken = new Set<StoredRun>();
  for (const { run, old } of pairs) {
    if (matched.has(run) || taken.has(old)) continue;
    matched.set(run, old);
    taken.add(old);
  }
  return matched;
}

/** Runs with damaged figures can be identified only by their time and their name. */
export function matchBad(fresh: readonly FreshRun[], bad: readonly BadRun[], matched: Map<FreshRun, Known>): void {
  for (const old of bad) {
    const free = fresh.filter((run) => !matched.has(run));
    const its = ({ figures }: FreshRun) => figures.windowFromS <= old.movementS && old.movementS <= figures.windowToS;
    const found = free.find((run) => run.uid === old.uid) ?? free.find(its);
    if (found !== undefined) matched.set(found, old);
  }
}

/** In steps that give the share done; nothing is stored before the last step. */
export function* settleSteps(book: Book, id: number, { gates, recalibrate, team }: SettleOptions): Generator<number, Settled, undefined> {
  book.alignEnd(id);
  const recording = book.recording(id);
  // A damaged one is fitted again, as at first: to the whole recording. So is one of a recording that was continued: it was fitted to a part.
  const kept = recalibrate || !recording.derived || book.badCalibrations(id).length > 0 ? null : book.newestCalibration(id);
  const derived = yield* deriveSteps(book, recording, { calibration: kept?.calibration ?? null, gates, team });
  return book.transaction(() => storeDerived(book, id, derived, kept?.id ?? null));
}

export function settle(book: Book, id: number, options: SettleOptions): Settled {
  return drain(settleSteps(book, id, options));
}

/**
 * The launch's own name. Where this book already has it (the same log imported twice, or the same launch twice in a log), the recording's
 * number and a count are added.
 */
export function freeName(taken: ReadonlySet<string>, launch: string, recording: number): string {
  if (!taken.has(launch)) return launch;
  let name = `${launch}-${recording}`;
  for (let count = 2; taken.has(name); count += 1) name = `${launch}-${recording}-${count}`;
  return name;
}

/**
 * A launch that is already in the book, from a log that was corrected and imported again, must count only once: the new one waits for a
 * person to choose.
 */
function sameLaunch(book: Book, uid: string): string {
  const first = book.runs().find((run) => run.uid === uid);
  return `The same launch as run ${first?.id ?? "?"}, imported once more: only one of them may count`;
}

/** Within the caller's transaction; `keptCalibration` null keeps the run's own calibration. */
export function storeDerived(book: Book, recording: number, derived: Derived, keptCalibration: number | null): Settled {
  const bad = { runs: book.badRuns(recording), calibrations: book.badCalibrations(recording) };
  for (const id of bad.calibrations) book.mendCalibration(id, derived.calibration);
  const calibration = keptCalibration ?? bad.calibrations.at(-1) ?? book.addCalibration(recording, derived.calibration).id;
  const before = book.runsOf(recording);
  const taken = book.names();
  const matched: Map<FreshRun, Known> = matchRuns(derived.runs, before);
  matchBad(derived.runs, bad.runs, matched);
  const unarmed = neverArmed(book.marks(recording)) ? UNARMED : null;
  const runs = derived.runs.map((fresh) => {
    const old = matched.get(fresh);
    if (old !== undefined) taken.delete(old.uid);
    const uid = old?.final === true ? old.uid : freeName(taken, fresh.uid, recording);
    const aside = uid === fresh.uid ? unarmed : sameLaunch(book, fresh.uid);
    taken.add(uid);
    const { takeSamples, ...rest } = fresh;
    const write = { ...rest, samples: takeSamples(), uid, figures: { ...fresh.figures, uid }, recording, calibration, final: true };
    if (old === undefined) return book.addRun(aside === null ? write : { ...write, aside });
    book.replaceRun(old.id, write);
    return old.id;
  });
  const lost = before.filter((run) => !runs.includes(run.id));
  for (const run of lost) book.markLost(run.id, LOST);
  const { baseUtcUs, endNs } = book.recording(recording);
  setWiring(book, recording, derived.wiring, baseUtcUs + Math.round((endNs ?? 0) / NS_PER_US));
  book.markDerived(recording);
  const gone = bad.runs.filter((run) => !runs.includes(run.id));
  return { runs, calibration, lost: [...lost, ...gone].map((run) => run.id), wiring: derived.wiring, rolling: derived.rolling };
}
