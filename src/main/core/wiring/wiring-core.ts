/**
 * The core while its set-up may change: holds the set-up being made, listens to every signal for the screens, and starts the core anew with
 * every accepted change. Until nothing is missing, sources are heard and nothing is recorded. A refused change leaves everything as it was.
 */
import type {
  Answerer,
  Answers,
  AnswersTo,
  CoreEvent,
  LiveEvent,
  RequestArgument,
  RequestName,
} from "../../../shared/contract/contract.ts";
import { createWiringTap, type WiringTap } from "../../../shared/wiring/wiring-tap.ts";
import { checkDraft } from "../../../shared/setup/check-set-up.ts";
import { missingOf, wholeOf } from "../../../shared/setup/draft-set-up.ts";
import type { SetUp } from "../../../shared/setup/set-up.ts";
import { draftText, type WrittenDraft } from "../../../shared/setup/set-up-text.ts";
import type { DbcFile } from "../../../shared/dbc/dbc-model.ts";
import type { SignalFileText, Stream } from "../../ports/book.ts";
import type { ByteSource, SourceListener, SourceReport } from "../../ports/byte-source.ts";
import type { HeardPort } from "../../ports/set-up-desk.ts";
import type { Core } from "../core.ts";
import { lineOf } from "../basics/failure.ts";
import { createGuidedDrive } from "../recording/guided-drive.ts";
import { createWorks } from "../basics/works.ts";
import { bound, parseSignalFiles, type ReadySetUp } from "../basics/read-set-up.ts";
import type { WiringDesk } from "./wiring-desk.ts";
import type { WiringCore, WiringCoreOptions } from "./wiring-core-parts.ts";
import { listenToBoth, wiringAnswers } from "./wiring-requests.ts";

const PARTLY: SetUp = {
  car: { name: "new car", massKg: Number.NaN, drivenAxle: "rear", gearRatio: Number.NaN },
  sources: {},
  database: [],
  signals: {},
};
/** Decoding every signal costs; once the set-up is whole it is done only while somebody looks, and a while after. */
const ATTENDED_NS = 180e9;
const UNHEARD: HeardPort = { trouble: "unheard", words: "listening was cancelled", receiverBaud: null, bytes: 0 };
const LAUNCH_RUNS = "a launch is running; change the set-up when it is over";

const isSame = (some: readonly SignalFileText[], others: readonly SignalFileText[]) =>
  some.length === others.length && some.every(({ name, text }, i) => name === others[i]?.name && text === others[i]?.text);

export function createWiringCore(options: WiringCoreOptions): WiringCore {
  const { clock, ears, emit } = options;
  let { book, store } = options;
  let written: WrittenDraft;
  let files: DbcFile[] = [];
  let signalFiles: readonly SignalFileText[] = [];
  let ready: ReadySetUp | null = null;
  let problem: string | null = null;
  let tap: WiringTap;
  let inner: Core;
  let lastState: LiveEvent["state"] = "idle";
  let turn: Promise<unknown> = Promise.resolve();
  let started = false;
  let attendedToNs = clock.monotonicNs() + ATTENDED_NS;
  const reports = new Map<Stream, SourceReport>();
  const heard = new Map<Stream, HeardPort>();
  const guided = createGuidedDrive(clock);
  const works = createWorks(emit);

  /** A receiver heard on the adapter's port: opening that as an adapter would write to the receiver. */
  const isBlocked = (stream: Stream) => {
    const trouble = stream === "can" ? heard.get("can")?.trouble : null;
    return trouble === "receiverHere" || trouble === "unheard";
  };

  /** While something is missing the core hears nothing, so the screens are told what the tap heard. */
  function withTap(live: LiveEvent): LiveEvent {
    const nowNs = clock.monotonicNs();
    const health = (stream: Stream) => {
      if (written.draft.sources[stream] === undefined) return live[stream];
      const report = reports.get(stream);
      return report === undefined || report.state === "fresh" ? tap.health(stream, nowNs) : report;
    };
    return { ...live, groundSpeedMps: tap.groundSpeedMps(nowNs), gnss: health("gnss"), can: health("can") };
  }

  function emitInner(event: CoreEvent): void {
    if (event.event === "live") lastState = event.state;
    emit(event.event === "live" && ready === null ? withTap(event) : event);
  }

  function tapped(source: ByteSource): ByteSource {
    const { stream, canFormat } = source;
    return {
      stream,
      canFormat,
      stop: () => source.stop(),
      start(listener: SourceListener) {
        source.start({
          onReport(report) {
            reports.set(stream, report);
            listener.onReport(report);
          },
          onGap: (cause, fromNs, toNs) => listener.onGap(cause, fromNs, toNs),
          onBytes(bytes, arrivalNs) {
            const packet = { stream, arrivalNs, bytes };
            if (ready === null || arrivalNs < attendedToNs) tap.push(packet);
            guided.push(packet);
            if (ready !== null) listener.onBytes(bytes, arrivalNs);
          },
        });
      },
    };
  }

  /** Reads the draft's signal files and says whether it can be used. Throws what a person must mend in a file. */
  function take(next: WrittenDraft): void {
    const texts = store === null ? (options.simulated?.stored.signalFiles ?? []) : store.signalFiles(next.draft.database);
    if (tap === undefined || !isSame(texts, signalFiles)) {
      files = parseSignalFiles(texts);
      signalFiles = texts;
      tap = createWiringTap(files);
    }
    written = next;
    ready = null;
    problem = null;
    const setUp = wholeOf(next.draft);
    if (setUp === null) return;
    try {
      const stored = { text: next.text, signalFiles };
      ready = store === null ? options.simulated : bound({ stored, setUp, databases: files }, `Set-up ${store.file}`);
    } catch (error) {
      problem = lineOf(error);
    }
  }

  function open(): void {
    const partly = {
      stored: { text: JSON.stringify(written.draft), signalFiles: [] },
      setUp: { ...PARTLY, car: { ...PARTLY.car, ...written.draft.car } },
      databases: [],
    };
    const wanted = Object.fromEntries(Object.entries(written.draft.sources).filter(([stream]) => !isBlocked(stream as Stream)));
    reports.clear();
    const sources = options.makeSources(store === null ? null : wanted).map(tapped);
    inner = options.makeCore({ book, ready: ready ?? partly, sources, setUpFile: store?.file ?? null, emit: emitInner });
    emit({ event: "notice", key: "set-up", text: problem });
  }

  /** One change at a time, in the order asked. */
  function inTurn<T>(work: () => Promise<T>): Promise<T> {
    const done = turn.then(work);
    turn = done.catch(() => undefined);
    return done;
  }

  async function reopened<T>(work: () => Promise<T>): Promise<T> {
    if (lastState === "launched") throw new RangeError(LAUNCH_RUNS);
    const before = new Map(heard);
    try {
      await inner.close();
    } catch (error) {
      // The bytes are in the journal; the set-up must not hang on what deriving them said.
      emit({ event: "notice", key: "book", text: lineOf(error) });
    }
    try {
      return await work();
    } catch (error) {
      // What was known of the ports before stays known: a change that failed, or was cancelled, changes nothing.
      heard.clear();
      for (const [stream, port] of before) heard.set(stream, port);
      throw error;
    } finally {
      open();
      started = true;
      inner.start();
    }
  }

  const desk: WiringDesk = {
    clock,
    ears,
    guided,
    reports,
    heard,
    get book() {
      return book;
    },
    get store() {
      return store;
    },
    get draft() {
      return written.draft;
    },
    get ready() {
      return ready;
    },
    get problem() {
      return problem;
    },
    get tap() {
      return tap;
    },
    work: (name, run) => works.run(name, run),
    cancel: (name) => works.cancel(name),
    edit(change) {
      return inTurn(async () => {
        const kept = store;
        if (kept === null) throw new RangeError('The simulated car is wired already; choose "Use my own car" to wire one');
        const before = written;
        await reopened(async () => {
          const draft = checkDraft(await change(before.draft), `Set-up ${kept.file}`);
          const text = draftText(draft);
          // A person's own text stays while it says the same, and a calibration with it.
          const next = text === draftText(before.draft) ? before : { text, draft };
          take(next);
          try {
            kept.write(next.text);
          } catch (error) {
            take(before);
            throw error;
          }
        });
        return { undo: { name: "setup.restore", argument: { setUp: before.draft } } };
      });
    },
    whileClosed: (work) => inTurn(() => reopened(work)),
    useOwnCar() {
      return inTurn(async () => {
        if (store !== null) return store.file;
        const file = await reopened(async () => {
          ({ book, store } = options.openOwn());
          heard.clear();
          take(store.read());
          return store.file;
        });
        // Every page asks anew what book this is.
        emit({ event: "notice", key: "core", text: null });
        return file;
      });
    },
  };

  const ofSetUp = wiringAnswers(desk);
  /** The inner core's own, but where the set-up has a say. */
  const answersNow = (): AnswersTo<RequestName> => ({
    ...inner.answers,
    ...ofSetUp,
    async "book.open"(asked) {
      const view = await inner.answers["book.open"](asked);
      return store === null ? { ...view, lastCar: options.lastCar() } : view;
    },
    "drive.arm"(asked) {
      if (ready === null)
        throw new RangeError(
          `Not ready to arm: ${problem ?? `the set-up has no ${missingOf(written.draft)} yet`}; Wiring says what to do next`,
        );
      return inner.answers["drive.arm"](asked);
    },
    "work.cancel"(asked) {
      void works.cancel(asked.work);
      return inner.answers["work.cancel"](asked);
    },
  });

  take(store === null ? { text: options.simulated?.stored.text ?? "", draft: options.simulated?.setUp ?? PARTLY } : store.read());
  // At the start a set-up that cannot be used is the file's fault, and the person stands at the command line.
  if (problem !== null) throw new RangeError(problem);
  open();

  return {
    start() {
      // A change made before the start has begun everything already.
      if (started) return;
      started = true;
      if (store === null || written.draft.sources.can === undefined) return inner.start();
      // Before anything is written to the adapter's port: a receiver there, ports swapped in the file, must hear nothing.
      void inTurn(async () => {
        try {
          await listenToBoth(desk);
        } catch (error) {
          // Cancelled: the adapter's port is left alone until somebody has it listened to.
          heard.set("can", UNHEARD);
          emit({ event: "notice", key: "listening", text: lineOf(error) });
        }
        open();
        inner.start();
      });
    },
    beat: () => inner.beat(),
    async request<N extends RequestName>(name: N, argument: RequestArgument<N>): Promise<Answers[N]> {
      if (name.startsWith("wiring.")) attendedToNs = clock.monotonicNs() + ATTENDED_NS;
      const answerer: Answerer<N> = answersNow()[name];
      return answerer(argument);
    },
    async close() {
      works.cancelAll();
      await turn;
      await inner.close();
      if (book !== options.book) book.close();
    },
  };
}
