/**
 * The core behind every host: owns the book and the sources, answers every request except those about the set-up, reports what happens.
 * Its host calls `beat` at least every 10 ms. A failed request throws one line; problems of a source or of the drive become notices.
 */
import type { Calibration } from "../../shared/align/calibration.ts";
import type { AnswersTo, CoreEvent, FixedRequestName, PortView } from "../../shared/contract/contract.ts";
import type { Estimates, EstimatorOptions } from "../../shared/pipeline/live-estimator.ts";
import type { Gate } from "../../shared/launch/gate.ts";
import { type Book, BookError, type Origin } from "../ports/book.ts";
import type { ByteSource } from "../ports/byte-source.ts";
import type { Clock } from "../ports/clock.ts";
import type { HostState } from "../ports/host-state.ts";
import type { Tuning } from "../ports/tuning.ts";
import { type BeforeList, createBeforeList } from "./recording/before-list.ts";
import { type CurrentRecording, createCurrentRecording } from "./recording/current-recording.ts";
import { createLiveTeller, type LiveTeller } from "./recording/live-teller.ts";
import { createNextRun, type NextRun } from "./recording/next-run.ts";
import { deriveSlowly } from "./deriving/derive-slowly.ts";
import { lineOf } from "./basics/failure.ts";
import { tuningInline } from "./judging/tuning-inline.ts";
import { judgeAnswers } from "./judging/judge-requests.ts";
import { wiringNotice } from "./library/wiring-state.ts";
import { bookViewOf, columnsOf, rowOf, rowsOf, viewOf } from "./library/library.ts";
import { NOTHING_LIVE } from "./recording/nothing-live.ts";
import { createPlanGuide } from "./judging/plan-guide.ts";
import type { ReadySetUp } from "./basics/read-set-up.ts";
import { runEditAnswers } from "./library/run-requests.ts";
import { createSleepWatch } from "./recording/sleep-watch.ts";
import { createWorks, type Works } from "./basics/works.ts";

/** At every beat (10 ms): a byte must reach the screen within 40 ms, and a screen's frame waits for the newest event. */
const LIVE_NS = 9e6;
/** Where nothing has come since the last event, only ages and waiting states move on: a quarter of the work of an idle screen. */
const QUIET_NS = 45e6;

export interface CoreOptions {
  readonly book: Book;
  readonly clock: Clock;
  readonly ready: ReadySetUp;
  readonly sources: readonly ByteSource[];
  readonly origin: Origin;
  readonly gates: readonly Gate[];
  /** Null for the simulated car. */
  readonly setUpFile: string | null;
  /** Absent: the list before driving says that the computer gives no information. */
  readonly host?: HostState;
  readonly listPorts: () => Promise<readonly PortView[]>;
  readonly emit: (event: CoreEvent) => void;
  /** Times launches while they are driven. Absent: in this thread, which waits meanwhile. */
  readonly makeEstimates?: (options: EstimatorOptions, onTrouble: (text: string) => void) => Estimates;
  /** Fits car and tyres. Absent: in this thread, which waits meanwhile. */
  readonly makeTuning?: (book: Book) => Tuning;
  /** True: armed from the first packet on, for a capture without screens. */
  readonly alwaysArmed: boolean;
  /** Noted with every run besides what people note: the setting of the simulated car's control. */
  readonly alsoNoted?: Readonly<Record<string, string>>;
  readonly label: string;
  readonly softwareVersion: string;
  /** What a person hands over when something went wrong. Absent: where no screen asks. */
  readonly happened?: (withPositions: boolean) => Promise<string>;
}

export interface Core {
  start(): void;
  beat(): void;
  /** Answers to every request but those that change what the core works from. */
  readonly answers: AnswersTo<FixedRequestName>;
  /** The calibration that the present recording has fitted so far; null where there is none. */
  fitted(): Calibration | null;
  /** Frees the ports, closes and derives the recording. Throws what prevented it. */
  close(): Promise<void>;
}

/** What the functions below work on; each has a state of its own. */
interface Parts {
  readonly options: CoreOptions;
  readonly notice: (key: string, text: string | null) => void;
  readonly current: CurrentRecording;
  readonly next: NextRun;
  readonly live: LiveTeller;
  readonly before: BeforeList;
  readonly works: Works;
  readonly tuning: Tuning;
}

function partsOf(options: CoreOptions): Parts {
  const { book, clock, ready, sources, emit, alwaysArmed } = options;
  const notice = (key: string, text: string | null) => emit({ event: "notice", key, text });
  const guide = createPlanGuide(book);
  const live = createLiveTeller({ streams: sources.map(({ stream }) => stream), guide, clock });
  const next = createNextRun({ given: options.label, alwaysArmed, guide, recording: () => current.now() });
  const before = createBeforeList({
    setUp: ready.setUp,
    clock,
    host: options.host ?? null,
    bookFile: book.file,
    now: () => ({ ...live.last(), check: current.now()?.before ?? null, calibratedUtcUs: current.now()?.calibratedUtcUs ?? null }),
    notice,
  });
  const current = createCurrentRecording({
    book,
    clock,
    ready,
    canFormat: sources.find(({ stream }) => stream === "can")?.canFormat ?? "slcan",
    origin: options.origin,
    gates: options.gates,
    // A capture without screens shows nobody a list: its runs are the same as those from its logs.
    noted: alwaysArmed ? () => ({}) : () => ({ ...options.alsoNoted, ...before.noted() }),
    next,
    makeEstimates: options.makeEstimates,
    notice,
  });
  return { options, notice, current, next, live, before, works: createWorks(emit), tuning: (options.makeTuning ?? tuningInline)(book) };
}

function tellRuns({ book, emit }: CoreOptions, ids: readonly number[]): void {
  for (const id of ids) emit({ event: "runStored", run: rowOf(book.run(id)) });
}

/** One live event, and the runs that ended since the one before. */
function tick({ options, notice, current, next, live, before }: Parts): void {
  const { emit, alwaysArmed } = options;
  const recording = current.now();
  if (recording === null) {
    emit(live.tell({ ...NOTHING_LIVE, nextLabel: next.label(), state: next.armed() ? "armed" : "idle" }));
    return;
  }
  try {
    const was = live.last().state;
    const { live: seen, stored } = recording.tick();
    live.add(stored.length);
    emit(live.tell(seen));
    if (seen.state === "standing" && was !== "standing" && !alwaysArmed) before.seeAgain();
    tellRuns(options, stored);
    if (stored.length > 0) {
      next.followPlan();
      next.restAfter(seen, live.plan());
    }
    next.keepArmed(seen.state);
  } catch (error) {
    // The bytes are in the journal: closing the recording finds the run again.
    if (!(error instanceof BookError)) throw error;
    notice("book", error.message);
  }
}

/** Closes the recording at once; what it gives derives the runs in steps, as what arrives meanwhile must be read. Null where none was open. */
function afterSleep(parts: Parts): (() => Promise<void>) | null {
  const { notice, current, next } = parts;
  next.slept();
  try {
    const steps = current.close();
    notice("sleep", "The computer slept: the recording was closed there and a new one begins. Arm again.");
    const failed = (error: unknown) =>
      notice("sleep", `The recording that the sleep closed is whole, but its runs are not final: ${lineOf(error)}`);
    return steps === null ? null : () => deriveClosed(parts, steps).catch(failed);
  } catch (error) {
    notice("sleep", `The computer slept, and closing the recording failed: ${lineOf(error)}`);
    return null;
  }
}

async function deriveClosed({ options, notice, works }: Parts, steps: Generator<number, readonly number[], undefined>): Promise<void> {
  tellRuns(options, await deriveSlowly(steps, { works, clock: options.clock }));
  notice("wiring", wiringNotice(options.book));
}

function answersOf({ options, current, next, live, before, works, tuning }: Parts): AnswersTo<FixedRequestName> {
  const { book, clock, ready, emit } = options;
  const utcUs = () => clock.utcUs();
  return {
    ...before.answers,
    ...judgeAnswers({
      book,
      softwareVersion: options.softwareVersion,
      now: () => ({ measured: live.measured(), utcUs: utcUs() }),
      planned: next.followPlan,
      tuning,
      works,
    }),
    ...runEditAnswers({
      book,
      utcUs,
      edited(runs) {
        next.followPlan();
        // Whoever is told reads the whole list again: one of a season's runs is enough.
        const last = runs.at(-1);
        if (last !== undefined) emit({ event: "runStored", run: rowOf(book.run(last)) });
      },
    }),
    "book.open": () => bookViewOf(book, ready.setUp.car.name, options.origin === "simulated"),
    async "happened.read"({ withPositions }) {
      if (options.happened === undefined) throw new RangeError("Nobody gathers here what happened: use the command `happened`");
      return { text: await options.happened(withPositions) };
    },
    "book.backUp": async () => ({ file: await book.backUp(new Date(utcUs() / 1000).toISOString().slice(0, 10)) }),
    "runs.list": () => rowsOf(book),
    "run.show": ({ run }) => viewOf(book, run),
    "run.columns": ({ run }) => columnsOf(book, run),
    "drive.arm"({ label }) {
      if (label !== undefined) next.setLabel(label);
      next.arm();
      return {};
    },
    "drive.abort"() {
      next.abort();
      return {};
    },
    "drive.label"({ label }) {
      next.setLabel(label);
      return {};
    },
    "drive.mark"({ note }) {
      const recording = current.now();
      if (recording === null)
        throw new RangeError("Nothing is recorded yet, so this was not kept: plug in the receiver or the adapter first");
      recording.note(note);
      return {};
    },
    "work.cancel"({ work }) {
      void works.cancel(work);
      return {};
    },
    "ports.list": () => options.listPorts(),
    "setup.read": () => ({ file: options.setUpFile, setUp: JSON.parse(ready.stored.text) }),
  };
}

export function createCore(options: CoreOptions): Core {
  const { book, clock, sources } = options;
  const parts = partsOf(options);
  const { current, next, live, notice } = parts;
  const sleep = createSleepWatch(clock);
  let lastTickNs = Number.NEGATIVE_INFINITY;
  let closing = false;
  let isNews = true;
  /** Recordings that a sleep closed are derived one after another. */
  let derived: Promise<void> = Promise.resolve();

  const listenTo = (source: ByteSource) =>
    source.start({
      onBytes(bytes, arrivalNs) {
        isNews = true;
        if (!closing) current.receive(source.stream, bytes, arrivalNs);
      },
      onReport(report) {
        isNews = true;
        live.report(source.stream, report);
        // A working source is mentioned only where people must know something about it.
        notice(source.stream, report.state === "waiting" || report.state === "stale" || report.words === "" ? null : report.words);
      },
      onGap: (cause, fromNs, toNs) => current.gap(source.stream, cause, fromNs, toNs),
    });

  return {
    start() {
      live.add(book.runs().length);
      next.followPlan();
      notice("wiring", wiringNotice(book));
      for (const source of sources) listenTo(source);
    },
    beat() {
      if (closing) return;
      const nowNs = clock.monotonicNs();
      if (sleep.slept()) derived = derived.then(afterSleep(parts));
      current.now()?.beat();
      if (nowNs - lastTickNs < (isNews ? LIVE_NS : QUIET_NS)) return;
      lastTickNs = nowNs;
      isNews = false;
      tick(parts);
    },
    answers: answersOf(parts),
    fitted: () => current.now()?.fitted() ?? null,
    async close() {
      closing = true;
      parts.tuning.close();
      await Promise.all(sources.map((source) => source.stop()));
      const steps = current.close();
      await derived;
      if (steps !== null) await deriveClosed(parts, steps);
    },
  };
}
