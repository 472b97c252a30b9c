/**
 * The core while its set-up may change: holds the set-up being made, reads every signal for the screens, and starts a new inner core after
 * every accepted change. While something is missing, sources are read but nothing is recorded. A refused change leaves everything as it
 * was.
 */
import type {
  Answerer,
  Answers,
  AnswersTo,
  CoreEvent,
  CoreRequestName,
  LiveEvent,
  RequestArgument,
} from "../../../shared/contract/contract.ts";
import { ALONE } from "../../../shared/pipeline/launch-team.ts";
import { checkDraft } from "../../../shared/setup/check-set-up.ts";
import { missingOf } from "../../../shared/setup/draft-set-up.ts";
import { draftText } from "../../../shared/setup/set-up-text.ts";
import type { Book, Stream } from "../../ports/book.ts";
import type { ByteSource, SourceReport } from "../../ports/byte-source.ts";
import type { HeardPort, SetUpStore } from "../../ports/set-up-desk.ts";
import type { Core } from "../core.ts";
import { lineOf } from "../basics/failure.ts";
import { createGuidedDrive, type GuidedDrive } from "../recording/guided-drive.ts";
import { createWorks, type Works } from "../basics/works.ts";
import { createHeardSignals, type HeardSignals } from "./heard-signals.ts";
import { createInnerCore, type InnerCore } from "./inner-core.ts";
import { createKeptWishes, type KeptWishes } from "./kept-wishes.ts";
import { createMovingWatch, type MovingWatch } from "./moving-watch.ts";
import { PARTLY, partlyReady } from "./partly-ready.ts";
import { createSetUpInMaking, type SetUpInMaking } from "./set-up-in-making.ts";
import { tapSource } from "./tapped-source.ts";
import type { WiringDesk } from "./wiring-desk.ts";
import type { WiringCore, WiringCoreOptions } from "./wiring-core-parts.ts";
import { listenToBoth, mustListenFirst, wiringAnswers } from "./wiring-requests.ts";

const UNHEARD: HeardPort = { trouble: "unheard", words: "listening was cancelled", receiverBaud: null, bytes: 0 };

/** What the functions below work on; each has a state of its own. */
interface Parts {
  readonly options: WiringCoreOptions;
  /** The book and the set-up file in use: the person's own once those were opened. `store` null: the simulated car. */
  readonly place: { book: Book; store: SetUpStore | null };
  readonly making: SetUpInMaking;
  readonly signals: HeardSignals;
  readonly guided: GuidedDrive;
  readonly reports: Map<Stream, SourceReport>;
  readonly heard: Map<Stream, HeardPort>;
  readonly opened: { atNs: number };
  readonly works: Works;
  readonly wishes: KeptWishes;
  readonly moving: MovingWatch;
}

const speedMps = ({ options, signals }: Parts) => signals.tap.groundSpeedMps(options.clock.monotonicNs());

/** While something is missing the inner core gets no bytes, so the screens are told what the tap read. */
function withTap({ options, making, signals, reports }: Parts, live: LiveEvent): LiveEvent {
  const nowNs = options.clock.monotonicNs();
  const health = (stream: Stream) => {
    if (making.written().draft.sources[stream] === undefined) return live[stream];
    const report = reports.get(stream);
    return report === undefined || report.state === "fresh" ? signals.tap.health(stream, nowNs) : report;
  };
  return { ...live, groundSpeedMps: signals.tap.groundSpeedMps(nowNs), gnss: health("gnss"), can: health("can") };
}

/** The sources of the draft, each with the tap on it. */
function sourcesOf({ options, place, making, signals, guided, reports, heard, opened }: Parts): ByteSource[] {
  // A receiver was heard on the adapter's port: opening the port as an adapter would write to the receiver.
  const isBlocked = (stream: string) => stream === "can" && ["receiverHere", "unheard"].includes(heard.get("can")?.trouble ?? "");
  const wanted = Object.fromEntries(Object.entries(making.written().draft.sources).filter(([stream]) => !isBlocked(stream)));
  const isWhole = () => making.ready() !== null;
  reports.clear();
  opened.atNs = options.clock.monotonicNs();
  return options.makeSources(place.store === null ? null : wanted).map((source) =>
    tapSource(source, {
      report: (report) => reports.set(source.stream, report),
      packet(packet) {
        signals.push(packet, isWhole(), source.canFormat);
        guided.push(packet);
      },
      isWhole,
    }),
  );
}

function makeInner(parts: Parts, told: (live: LiveEvent) => void): Core {
  const { options, place, making, wishes, moving } = parts;
  function emit(event: CoreEvent): void {
    const live = event.event === "live" ? event : null;
    if (live !== null) {
      told(live);
      wishes.heard(live);
    }
    if (live?.state === "standing") moving.ready();
    options.emit(live !== null && making.ready() === null ? withTap(parts, live) : event);
  }
  const core = options.makeCore({
    book: place.book,
    ready: making.ready() ?? partlyReady(making.written().draft),
    sources: sourcesOf(parts),
    setUpFile: place.store?.file ?? null,
    emit,
  });
  options.emit({ event: "notice", key: "set-up", text: making.problem() });
  return core;
}

/** Opens the set-up and the book of the person's own car, where they are not open yet. */
async function useOwnCar({ options, place, making, heard, wishes }: Parts, inner: InnerCore): Promise<string> {
  if (place.store !== null) return place.store.file;
  const file = await inner.reopened(async () => {
    const own = options.openOwn();
    Object.assign(place, own);
    heard.clear();
    wishes.forget();
    making.take(own.store.read());
    return own.store.file;
  });
  // Every page asks again which book this is.
  options.emit({ event: "notice", key: "core", text: null });
  return file;
}

/** One edit of the set-up: checked, stored, and the core opened by it. Gives the request that reverses it. */
async function edit({ place, making }: Parts, inner: InnerCore, change: Parameters<WiringDesk["edit"]>[0]): ReturnType<WiringDesk["edit"]> {
  const kept = place.store;
  if (kept === null) throw new RangeError('The simulated car is wired already; choose "Use my own car" to wire one');
  const before = making.written();
  await inner.reopened(async () => {
    const draft = checkDraft(await change(before.draft), `Set-up ${kept.file}`);
    const text = draftText(draft);
    // A person's own text is kept while it means the same, and with it its calibration.
    const next = text === draftText(before.draft) ? before : { text, draft };
    making.take(next);
    try {
      kept.write(next.text);
    } catch (error) {
      making.take(before);
      throw error;
    }
  });
  return { undo: { name: "setup.restore", argument: { setUp: before.draft } } };
}

const deskOf = (parts: Parts, inner: InnerCore): WiringDesk => ({
  clock: parts.options.clock,
  ears: parts.options.ears,
  team: parts.options.team ?? ALONE,
  guided: parts.guided,
  reports: parts.reports,
  heard: parts.heard,
  memory: parts.signals.memory,
  get book() {
    return parts.place.book;
  },
  get store() {
    return parts.place.store;
  },
  get openedNs() {
    return parts.opened.atNs;
  },
  get draft() {
    return parts.making.written().draft;
  },
  get ready() {
    return parts.making.ready();
  },
  get problem() {
    return parts.making.problem();
  },
  get tap() {
    return parts.signals.tap;
  },
  get fitted() {
    return inner.now().fitted();
  },
  work: (name, run) => parts.works.run(name, run),
  cancel: (name) => parts.works.cancel(name),
  edit: (change) => inner.inTurn(() => edit(parts, inner, change)),
  whileClosed: (work) => inner.inTurn(() => inner.reopened(work)),
  useOwnCar: () => inner.inTurn(() => useOwnCar(parts, inner)),
});

/** The inner core's own answers, except where the set-up is involved. */
function answersNow(parts: Parts, inner: Core, ofSetUp: ReturnType<typeof wiringAnswers>): AnswersTo<CoreRequestName> {
  const { options, place, making, works, wishes } = parts;
  return {
    ...inner.answers,
    ...ofSetUp,
    async "book.open"(asked) {
      const view = await inner.answers["book.open"](asked);
      return place.store === null ? { ...view, lastCar: options.lastCar() } : view;
    },
    "drive.arm"(asked) {
      if (making.ready() === null) {
        const why = making.problem() ?? `the set-up has no ${missingOf(making.written().draft)} yet`;
        throw new RangeError(`Not ready to arm: ${why}; Wiring says what to do next`);
      }
      wishes.arm(asked);
      return inner.answers["drive.arm"](asked);
    },
    "drive.label"(asked) {
      wishes.label(asked);
      return inner.answers["drive.label"](asked);
    },
    "work.cancel"(asked) {
      void works.cancel(asked.work);
      return inner.answers["work.cancel"](asked);
    },
  };
}

function partsOf(options: WiringCoreOptions): Parts {
  const { clock, simulated, store } = options;
  const place = { book: options.book, store };
  const signals = createHeardSignals(clock);
  const first = store === null ? { text: simulated?.stored.text ?? "", draft: simulated?.setUp ?? PARTLY } : store.read();
  const making = createSetUpInMaking({ first, store: () => place.store, simulated, signals });
  // At the start, a set-up that cannot be used is a fault of the file, and the person is at the command line.
  const problem = making.problem();
  if (problem !== null) throw new RangeError(problem);
  return {
    options,
    place,
    making,
    signals,
    guided: createGuidedDrive(clock),
    reports: new Map(),
    heard: new Map(),
    opened: { atNs: 0 },
    works: createWorks(options.emit),
    wishes: createKeptWishes(),
    moving: createMovingWatch(clock, (text) => options.emit({ event: "notice", key: "moved", text })),
  };
}

export function createWiringCore(options: WiringCoreOptions): WiringCore {
  const parts = partsOf(options);
  const { place, making, signals, heard, works, wishes, moving } = parts;
  const notice = (key: string, text: string | null) => options.emit({ event: "notice", key, text });
  let lastState: LiveEvent["state"] = "idle";
  const inner = createInnerCore({
    make: () =>
      makeInner(parts, ({ state }) => {
        lastState = state;
      }),
    isLaunched: () => lastState === "launched",
    heard,
    notice,
    onClosing: () => moving.closing(speedMps(parts)),
    onOpened(core) {
      if (making.ready() !== null) wishes.askAgain(core.answers);
      moving.opened();
    },
  });
  /** What driving is useless without; null where the set-up is complete. */
  const lacking = () => (making.ready() !== null ? null : making.problem() === null ? missingOf(making.written().draft) : "usable signals");
  const desk = deskOf(parts, inner);
  const ofSetUp = wiringAnswers(desk);

  /** Before anything is written to the adapter's port: a receiver there (ports exchanged in the file) must get nothing. */
  async function listenFirst(): Promise<void> {
    try {
      await listenToBoth(desk);
    } catch (error) {
      // Cancelled: the adapter's port is not opened until somebody has listened to it.
      heard.set("can", UNHEARD);
      notice("listening", lineOf(error));
    }
    inner.open();
    inner.start();
  }

  return {
    start() {
      // A change made before the start has already started everything.
      if (!inner.isNew()) return;
      if (place.store === null || !mustListenFirst(making.written().draft)) return inner.start();
      inner.claim();
      inner.inTurn(listenFirst).catch((error: unknown) => notice("listening", `No port is open: ${lineOf(error)}`));
    },
    beat() {
      inner.now().beat();
      signals.beat();
      moving.beat(speedMps(parts), lacking());
    },
    async request<N extends CoreRequestName>(name: N, argument: RequestArgument<N>): Promise<Answers[N]> {
      if (name.startsWith("wiring.")) signals.attend();
      const answerer: Answerer<N> = answersNow(parts, inner.now(), ofSetUp)[name];
      return answerer(argument);
    },
    async close() {
      works.cancelAll();
      await inner.close();
      if (place.book !== options.book) place.book.close();
    },
  };
}
