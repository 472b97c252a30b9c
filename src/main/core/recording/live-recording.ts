/**
 * One recording while it runs: bytes go to the journal and to the live session, runs are stored as they end, and closing makes them final.
 * Problems with the book are reported and never stop the live view. What closing cannot derive stays stored and says why.
 */
import { NS_PER_US, US_PER_S } from "../../../shared/kernel/units.ts";
import type { Calibration } from "../../../shared/align/calibration.ts";
import type { LiveEvent } from "../../../shared/contract/contract.ts";
import { createLiveSession } from "../../../shared/pipeline/live-session.ts";
import type { BeforeCheck, BeforeInput } from "../../../shared/pipeline/before-driving.ts";
import type { Estimates, EstimatorOptions } from "../../../shared/pipeline/live-estimator.ts";
import type { CanFormat } from "../../../shared/pipeline/packet.ts";
import type { Gate } from "../../../shared/launch/gate.ts";
import type { Mark } from "../../../shared/launch/mark.ts";
import type { Book, Origin, Stream } from "../../ports/book.ts";
import type { Clock } from "../../ports/clock.ts";
import { freshRun, roleUnitsOf } from "../deriving/derive.ts";
import { createBookWatch } from "./book-watch.ts";
import { flushOrKeepAside } from "./keep-aside.ts";
import { createJournalWriter } from "./journal-writer.ts";
import { knownCalibration } from "../basics/known-calibration.ts";
import type { ReadySetUp } from "../basics/read-set-up.ts";
import { freeName, type Settled, settleSteps } from "../deriving/settle.ts";

export interface LiveRecording {
  readonly id: number;
  packet(stream: Stream, bytes: Uint8Array, monotonicNs: number): void;
  gap(stream: Stream, cause: string, fromNs: number, toNs: number): void;
  arm(): void;
  abort(): void;
  setLabel(text: string): void;
  note(text: string): void;
  /** The calibration that it has fitted so far; null while it has fitted none. */
  fitted(): Calibration | null;
  beat(): void;
  /** The list before driving. */
  before(seen: Omit<BeforeInput, "drive">): Promise<readonly BeforeCheck[]>;
  /** When the calibration was recorded with which this recording began, microseconds of wall clock; null without one. */
  readonly calibratedUtcUs: number | null;
  /** The state for a screen; also stores the runs that ended and gives their ids. */
  tick(): { readonly live: LiveEvent; readonly stored: readonly number[] };
  /** Commits and closes at once, then derives in steps that give the share done. Ends with the final runs' ids; throws on failure. */
  close(): Generator<number, readonly number[], undefined>;
}

export interface LiveRecordingOptions {
  readonly book: Book;
  readonly clock: Clock;
  readonly ready: ReadySetUp;
  readonly canFormat: CanFormat;
  readonly origin: Origin;
  readonly gates: readonly Gate[];
  /** Monotonic time of the first packet. */
  readonly firstNs: number;
  readonly label: string;
  /** What the program itself notes with a run when it stores it. */
  readonly noted: () => Readonly<Record<string, string>>;
  readonly onTrouble: (text: string | null) => void;
  /** The book's file was moved or deleted, and where the book continues. */
  readonly onMoved: (text: string) => void;
  readonly makeEstimates: (options: EstimatorOptions) => Estimates;
}

const CLOCK_SAMPLE_NS = 1e9;

function* settledRuns(steps: Generator<number, Settled, undefined>): Generator<number, readonly number[], undefined> {
  return (yield* steps).runs;
}

export function startLiveRecording(options: LiveRecordingOptions): LiveRecording {
  const { book, clock, ready, canFormat, gates } = options;
  // Base time 0 is a whole second of the wall clock, so that logs exported with wall-clock stamps give the same base when imported.
  const firstUtcUs = clock.utcUs() - Math.round((clock.monotonicNs() - options.firstNs) / NS_PER_US);
  const baseUtcUs = Math.floor(firstUtcUs / US_PER_S) * US_PER_S;
  const baseNs = options.firstNs - (firstUtcUs - baseUtcUs) * NS_PER_US;
  const { id } = book.startRecording({ uid: crypto.randomUUID(), origin: options.origin, baseUtcUs, canFormat, setUp: ready.stored });
  const prior = knownCalibration(book, ready.stored.text) ?? book.priorCalibration(id);
  const journal = createJournalWriter({ book, recording: id, onTrouble: options.onTrouble });
  const watch = createBookWatch({ book, tell: options.onMoved });
  const session = createLiveSession({
    setUp: ready.setUp,
    databases: ready.databases,
    canFormat,
    calibration: prior?.calibration ?? null,
    gates,
    makeEstimates: options.makeEstimates,
  });
  const now = () => clock.monotonicNs() - baseNs;
  let nextClockNs = 0;
  let lastArrivalNs = 0;
  let written = 0;

  /** The session decides what its calls mean; the journal stores the marks that result. */
  function keepMarks(): void {
    const { marks } = session;
    for (; written < marks.length; written += 1) journal.mark(marks[written] as Mark);
  }

  journal.mark({ tS: 0, kind: "disarm", text: "" });
  if (options.label !== "") session.setLabel(options.label, 0);
  keepMarks();

  return {
    id,
    packet(stream, bytes, monotonicNs) {
      // Two ports are read in turn: an arrival is never before the one handled before it.
      lastArrivalNs = Math.max(lastArrivalNs, monotonicNs - baseNs);
      const packet = { stream, arrivalNs: lastArrivalNs, bytes };
      journal.packet(packet);
      session.push(packet);
    },
    gap(stream, cause, fromNs, toNs) {
      session.reopen(stream);
      journal.gap({ stream, cause, fromNs: Math.max(0, fromNs - baseNs), toNs: Math.max(0, toNs - baseNs) });
    },
    arm() {
      session.arm(now());
      keepMarks();
    },
    abort() {
      session.abort(now());
      keepMarks();
    },
    setLabel(text) {
      session.setLabel(text, now());
      keepMarks();
    },
    note(text) {
      journal.mark({ tS: now() / 1e9, kind: "note", text });
    },
    beat() {
      const nowNs = now();
      if (nowNs >= nextClockNs) {
        journal.clock({ atNs: nowNs, utcUs: clock.utcUs() });
        nextClockNs = nowNs + CLOCK_SAMPLE_NS;
        book.keepRoom();
      }
      journal.beat(nowNs);
      watch.beat(nowNs);
    },
    before: session.before,
    fitted: session.fitted,
    calibratedUtcUs: prior === null ? null : book.recording(prior.recording).baseUtcUs,
    tick() {
      const live = session.tick(now());
      keepMarks();
      const stored = session.takeRuns().map((run) => {
        const units = roleUnitsOf(Object.keys(run.samples.roles), {});
        const fresh = freshRun(run, session.marks, units, []);
        const uid = freeName(book.names(), fresh.uid, id);
        return book.addRun({ ...fresh, uid, conditions: options.noted(), recording: id, calibration: prior?.id ?? null, final: false });
      });
      return { live, stored };
    },
    close() {
      session.close();
      flushOrKeepAside(book, id, journal);
      book.closeRecording(id, "closed");
      watch.finish();
      return settledRuns(settleSteps(book, id, { gates, recalibrate: false }));
    },
  };
}
