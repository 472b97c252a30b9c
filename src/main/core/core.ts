/**
 * The core behind every host: owns the book and the sources, answers every request of the contract but the set-up's, and tells what happens. It knows no transport and
 * no timer: whoever runs it calls `beat` at least every 10 ms. A failed request throws one line; trouble of a source or of the drive becomes a notice.
 */
import type { AnswersTo, CoreEvent, FixedRequestName, LiveEvent, PortView } from "../../shared/contract/contract.ts";
import { drain } from "../../shared/kernel/drain.ts";
import { type Estimates, type EstimatorOptions, estimatesInline } from "../../shared/pipeline/live-estimator.ts";
import type { Gate } from "../../shared/launch/gate.ts";
import { type Book, BookError, type Origin, type Stream } from "../ports/book.ts";
import type { ByteSource, SourceReport } from "../ports/byte-source.ts";
import type { Clock } from "../ports/clock.ts";
import type { HostState } from "../ports/host-state.ts";
import type { Tuning } from "../ports/tuning.ts";
import { createBeforeList } from "./recording/before-list.ts";
import { deriveSlowly } from "./deriving/derive-slowly.ts";
import { lineOf } from "./basics/failure.ts";
import { ownBook } from "./basics/own-book.ts";
import { tuningInline } from "./judging/advise-book.ts";
import { judgeAnswers } from "./judging/judge-requests.ts";
import { columnsOf, rowOf, rowsOf, viewOf } from "./library/library.ts";
import { type LiveRecording, startLiveRecording } from "./recording/live-recording.ts";
import { FIRST_BYTE, NOTHING_LIVE } from "./recording/nothing-live.ts";
import { createPlanGuide } from "./judging/plan-guide.ts";
import type { ReadySetUp } from "./basics/read-set-up.ts";
import { runEditAnswers } from "./library/run-requests.ts";
import { createSleepWatch } from "./recording/sleep-watch.ts";
import { createWorks } from "./basics/works.ts";

/** At every beat (10 ms): the oldest byte on a screen must stay under 40 ms old, and a frame waits for the newest event. */
const LIVE_NS = 9e6;

export interface CoreOptions {
  readonly book: Book;
  readonly clock: Clock;
  readonly ready: ReadySetUp;
  readonly sources: readonly ByteSource[];
  readonly origin: Origin;
  readonly gates: readonly Gate[];
  /** Null for the simulated car. */
  readonly setUpFile: string | null;
  /** Absent: the list before driving says that the computer does not tell. */
  readonly host?: HostState;
  readonly listPorts: () => Promise<readonly PortView[]>;
  readonly emit: (event: CoreEvent) => void;
  /** Where launches are timed while they are driven. Absent: in this thread, which waits meanwhile. */
  readonly makeEstimates?: (options: EstimatorOptions, onTrouble: (text: string) => void) => Estimates;
  /** Where car and tyres are fitted. Absent: in this thread, which waits meanwhile. */
  readonly makeTuning?: (book: Book) => Tuning;
  /** True arms by itself from the first packet on: a headless capture. */
  readonly alwaysArmed: boolean;
  /** Noted with every run besides what people note: how the simulated car's control was set. */
  readonly alsoNoted?: Readonly<Record<string, string>>;
  readonly label: string;
  readonly softwareVersion: string;
}

export interface Core {
  start(): void;
  beat(): void;
  /** To every request but those that change what the core works from. */
  readonly answers: AnswersTo<FixedRequestName>;
  /** Frees the ports, closes and derives the recording. Throws what kept it from that. */
  close(): Promise<void>;
}

export function createCore(options: CoreOptions): Core {
  const { book, clock, ready, sources, gates, emit, makeEstimates = estimatesInline, makeTuning = tuningInline } = options;
  const tuning = makeTuning(book);
  const reports = new Map<Stream, SourceReport>();
  const openGaps = new Map<Stream, { cause: string; fromNs: number }>();
  const sleep = createSleepWatch(clock);
  const guide = createPlanGuide(book);
  const works = createWorks(emit);
  const notice = (key: string, text: string | null) => emit({ event: "notice", key, text });
  const before = createBeforeList({ setUp: ready.setUp, clock, host: options.host ?? null, bookFile: book.file, now: beforeNow, notice });
  let lastLive: LiveEvent = NOTHING_LIVE;
  let recording: LiveRecording | null = null;
  let label = options.label;
  let armed = options.alwaysArmed;
  let lastTickNs = Number.NEGATIVE_INFINITY;
  let closing = false;
  let runsStored = 0;
  /** What the plan's windows are held against. */
  let measured: Readonly<Record<string, number | null>> = {};

  function recordingFor(firstNs: number): LiveRecording {
    if (recording !== null) return recording;
    ownBook(book);
    recording = startLiveRecording({
      book,
      clock,
      ready,
      canFormat: sources[0]?.canFormat ?? "slcan",
      origin: options.origin,
      gates,
      firstNs,
      label,
      // A headless capture shows nobody a list: its runs are what their logs give.
      noted: options.alwaysArmed ? () => ({}) : () => ({ ...options.alsoNoted, ...before.noted() }),
      onTrouble: (text) => notice("book", text),
      onMoved: (text) => notice("book-file", text),
      makeEstimates: (of) => makeEstimates(of, (text) => notice("timing", text)),
    });
    if (armed) recording.arm();
    return recording;
  }

  function receive(source: ByteSource, bytes: Uint8Array, arrivalNs: number): void {
    if (closing) return;
    try {
      recordingFor(arrivalNs).packet(source.stream, bytes, arrivalNs);
    } catch (error) {
      if (!(error instanceof BookError)) throw error;
      notice("book", error.message);
    }
  }

  function onGap(stream: Stream, cause: string, fromNs: number, toNs: number | null): void {
    if (toNs === null) openGaps.set(stream, { cause, fromNs });
    else {
      openGaps.delete(stream);
      recording?.gap(stream, cause, fromNs, toNs);
    }
  }

  /** Closed when it returns; what it answers derives the runs, in steps. */
  function closeRecording(): Generator<number, readonly number[], undefined> | null {
    if (recording === null) return null;
    const open = recording;
    for (const [stream, gap] of openGaps) open.gap(stream, gap.cause, gap.fromNs, clock.monotonicNs());
    openGaps.clear();
    notice("timing", null);
    recording = null;
    return open.close();
  }

  function tellRuns(ids: readonly number[]): void {
    for (const id of ids) emit({ event: "runStored", run: rowOf(book.run(id)) });
  }

  /** What the device says outweighs what its data said last, unless its port is open and the data speaks. */
  function withReports(live: LiveEvent): LiveEvent {
    const health = (stream: Stream) => {
      const report = reports.get(stream);
      if (report !== undefined && report.state !== "fresh") return report;
      return live[stream].state === "absent" && sources.some((source) => source.stream === stream) ? FIRST_BYTE : live[stream];
    };
    measured = { ...live.temperatures, stateOfCharge: live.stateOfCharge };
    lastLive = { ...live, runsStored, plan: guide.say(measured, clock.utcUs()), gnss: health("gnss"), can: health("can") };
    return lastLive;
  }

  function tick(nowNs: number): void {
    lastTickNs = nowNs;
    if (recording === null) {
      emit(withReports({ ...NOTHING_LIVE, nextLabel: label, state: armed ? "armed" : "idle" }));
      return;
    }
    try {
      const was = lastLive.state;
      const { live, stored } = recording.tick();
      runsStored += stored.length;
      emit(withReports(live));
      if (live.state === "standing" && was !== "standing" && !options.alwaysArmed) before.seeAgain();
      for (const id of stored) emit({ event: "runStored", run: rowOf(book.run(id)) });
      if (stored.length > 0) {
        followPlan();
        restAfterPlan(live);
      }
      if (armed && (live.state === "idle" || live.state === "done" || (options.alwaysArmed && live.state === "aborted"))) recording.arm();
    } catch (error) {
      // The bytes are in the journal: closing the recording finds the run again.
      if (!(error instanceof BookError)) throw error;
      notice("book", error.message);
    }
  }

  /** Armed again by itself until the planned runs are in; then it takes a person to arm. */
  function restAfterPlan(live: LiveEvent): void {
    const plan = guide.say(measured, clock.utcUs());
    if (options.alwaysArmed || plan === null || plan.done < plan.total || live.state === "launched") return;
    armed = false;
    recording?.abort();
  }

  function beforeNow() {
    return { ...lastLive, check: recording?.before ?? null, calibratedUtcUs: recording?.calibratedUtcUs ?? null };
  }

  const utcUs = () => clock.utcUs();
  const answers: AnswersTo<FixedRequestName> = {
    ...before.answers,
    ...judgeAnswers({
      book,
      softwareVersion: options.softwareVersion,
      now: () => ({ measured, utcUs: utcUs() }),
      planned: followPlan,
      tuning,
    }),
    ...runEditAnswers({
      book,
      utcUs,
      edited(run, inRow) {
        followPlan();
        if (inRow) emit({ event: "runStored", run: rowOf(book.run(run)) });
      },
    }),
    "book.open": () => ({ car: ready.setUp.car.name, bookFile: book.file, simulated: options.origin === "simulated", runs: rowsOf(book) }),
    "runs.list": () => rowsOf(book),
    "run.show": ({ run }) => viewOf(book, run),
    "run.columns": ({ run }) => columnsOf(book, run),
    "drive.arm"({ label: text }) {
      if (text !== undefined) setLabel(text);
      armed = true;
      recording?.arm();
      return {};
    },
    "drive.abort"() {
      armed = false;
      recording?.abort();
      return {};
    },
    "drive.label"({ label: text }) {
      setLabel(text);
      return {};
    },
    "drive.mark"({ note }) {
      recording?.note(note);
      return {};
    },
    "work.cancel"({ work }) {
      void works.cancel(work);
      return {};
    },
    "ports.list": () => options.listPorts(),
    "setup.read": () => ({ file: options.setUpFile, setUp: JSON.parse(ready.stored.text) }),
  };

  /** The next run carries the label that the plan drew for it, unless whoever started this named one for all. */
  function followPlan(): void {
    const next = guide.refresh();
    if (options.label === "" && next !== null && next !== label) setLabel(next);
  }

  function setLabel(text: string): void {
    label = text;
    recording?.setLabel(text);
  }

  return {
    start() {
      runsStored = book.runs().length;
      followPlan();
      for (const source of sources) {
        source.start({
          onBytes: (bytes, arrivalNs) => receive(source, bytes, arrivalNs),
          onReport(report) {
            reports.set(source.stream, report);
            // A fresh source has words only where people must know something of it.
            notice(source.stream, report.state === "waiting" || report.state === "stale" || report.words === "" ? null : report.words);
          },
          onGap: (cause, fromNs, toNs) => onGap(source.stream, cause, fromNs, toNs),
        });
      }
    },
    beat() {
      if (closing) return;
      const nowNs = clock.monotonicNs();
      if (sleep.slept()) {
        try {
          const steps = closeRecording();
          if (steps !== null) tellRuns(drain(steps));
          notice("sleep", "The computer slept: the recording was closed there and a new one begins. Arm again.");
        } catch (error) {
          notice("sleep", `The computer slept, and closing the recording failed: ${lineOf(error)}`);
        }
        armed = options.alwaysArmed;
      }
      recording?.beat();
      if (nowNs - lastTickNs >= LIVE_NS) tick(nowNs);
    },
    answers,
    async close() {
      closing = true;
      tuning.close();
      await Promise.all(sources.map((source) => source.stop()));
      const steps = closeRecording();
      if (steps !== null) tellRuns(await deriveSlowly(steps, { works, clock }));
    },
  };
}
