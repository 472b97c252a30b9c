/**
 * A device as a byte source that never gives up: opens its line, starts the device, watches for silence and for unreadable bytes, and
 * opens again after the device was lost. Every problem is one line, reported once; every hole is reported with its cause when it ends.
 */
import { GARBAGE_BYTES } from "../../../shared/pipeline/live-health.ts";
import type { CanFormat } from "../../../shared/pipeline/packet.ts";
import type { Stream } from "../../ports/book.ts";
import type { ByteSource } from "../../ports/byte-source.ts";
import type { Clock } from "../../ports/clock.ts";
import type { DeviceLine, DeviceTalk, LineEars, Refusal } from "./device-talk.ts";
import { createToldSource } from "./told-source.ts";
import { wait } from "./wait.ts";

const FIRST_PAUSE_MS = 250;
/** Whoever plugs a cable in again, armed for the next launch, waits at most this long. */
const LONGEST_PAUSE_MS = 1000;
/** A refused device is tried again after this, in case it was exchanged. */
const REFUSED_PAUSE_MS = 5000;
const WATCH_MS = 250;
/** No working receiver or adapter pauses this long: receivers send at least every second. */
const SILENT_MS = { gnss: 2500, can: 1000 } as const;
/**
 * A bus may sleep for hours. But a port that died without an error (Windows, some hubs) returns only when it is opened again. So after this
 * time the device is asked.
 */
const DOUBT_MS = 15_000;

/** One line each, with the device's name and what to do. */
export interface SourceWords {
  /** It is open, and nothing came yet. */
  readonly opened: string;
  /** Bytes come, and none of them is valid. */
  readonly garbage: string;
  /** It was open and is gone; `why` as the line gave it. */
  gone(why: string): string;
  /** It cannot be opened, or failed. */
  trouble(error: unknown): string;
}

export interface ReopeningOptions<Line extends DeviceLine> {
  readonly stream: Stream;
  readonly canFormat: CanFormat;
  readonly clock: Clock;
  /** Rejects with the system's error. Aborted: nobody waits for it any more. */
  readonly open: (ears: LineEars, stopping: AbortSignal) => Promise<Line>;
  readonly createTalk: () => DeviceTalk<Line>;
  readonly words: SourceWords;
}

/** How an opening ended; `spoke`: the device had sent something. */
interface Ending {
  readonly pause: "growing" | "none" | "long";
  readonly spoke: boolean;
}

/** A device that did not answer is started again at the 1st, 2nd, 4th, 8th ... time: while it starts, nothing is received. */
const isDue = (times: number) => (times & (times - 1)) === 0;

/** How long to wait after each ending, ms. */
function createPauses(): (ending: Ending) => number {
  let growingMs = FIRST_PAUSE_MS;
  return ({ pause, spoke }) => {
    if (spoke) growingMs = FIRST_PAUSE_MS;
    const pauseMs = { none: 0, long: REFUSED_PAUSE_MS, growing: growingMs }[pause];
    if (pause === "growing") growingMs = Math.min(LONGEST_PAUSE_MS, 2 * growingMs);
    // A random part keeps two devices behind one hub from always trying at the same time.
    return pauseMs * (0.8 + 0.2 * Math.random());
  };
}

/** `talk` null: the device is gone, and nothing is sent to it any more. */
async function leave<Line extends DeviceLine>(line: Line, talk: DeviceTalk<Line> | null, trouble: (error: unknown) => void): Promise<void> {
  try {
    await talk?.end(line);
  } catch (error) {
    trouble(error);
  }
  await line.close();
}

export function createReopeningSource<Line extends DeviceLine>(options: ReopeningOptions<Line>): ByteSource {
  const { stream, clock, words } = options;
  const stopping = new AbortController();
  const told = createToldSource(clock);
  let running: Promise<void> = Promise.resolve();
  const failed = (error: unknown): Ending => {
    told.report("absent", words.trouble(error));
    return { pause: "growing", spoke: false };
  };

  /** Watches an open device until it is lost, refused or dead; rejects when `signal` is aborted. */
  async function watch(line: Line, talk: DeviceTalk<Line>, signal: AbortSignal): Promise<Ending & { readonly refusal: Refusal | null }> {
    let seen = { bytes: 0, valid: 0 };
    let spoke = false;
    let openedNs = clock.monotonicNs();
    let doubts = 0;
    for (;;) {
      await wait(WATCH_MS, signal);
      signal.throwIfAborted();
      if (talk.refusal !== null) return { pause: "long", spoke, refusal: talk.refusal };
      const { bytes, valid } = talk.counts;
      if (valid > seen.valid) {
        spoke = true;
        told.report("fresh", talk.caution ?? "");
      } else if (bytes - seen.bytes > GARBAGE_BYTES) told.report("wrong", words.garbage);
      if (valid > seen.valid || bytes - seen.bytes > GARBAGE_BYTES) seen = { bytes, valid };
      const heardNs = told.lastByteNs;
      const silentMs = (clock.monotonicNs() - Math.max(heardNs, openedNs)) / 1e6;
      if (silentMs < SILENT_MS[stream]) {
        doubts = 0;
        continue;
      }
      told.stale();
      if (silentMs < DOUBT_MS * (doubts + 1)) continue;
      doubts += 1;
      const liveness = await talk.check(line, signal);
      // It sent something while it was being asked.
      if (told.lastByteNs !== heardNs || liveness === "alive") continue;
      if (liveness === "dead") return { pause: "none", spoke, refusal: null };
      if (!isDue(doubts)) continue;
      const refusal = await talk.begin(line, signal);
      if (refusal !== null) return { pause: "long", spoke, refusal };
      openedNs = Math.max(openedNs, told.lastByteNs);
    }
  }

  async function once(): Promise<Ending> {
    const talk = options.createTalk();
    const gone = new AbortController();
    const signal = AbortSignal.any([stopping.signal, gone.signal]);
    let line: Line;
    try {
      const ears: LineEars = {
        onBytes(bytes, arrivalNs) {
          const data = talk.hear(bytes, arrivalNs);
          const hole = talk.takeHole?.() ?? null;
          if (hole !== null) told.hole(hole, arrivalNs);
          if (data !== null) told.take(data, arrivalNs);
        },
        onClose: (why) => gone.abort(why),
      };
      line = await options.open(ears, stopping.signal);
    } catch (error) {
      // Stopped while it was being opened: no trouble of the device.
      return stopping.signal.aborted ? { pause: "none", spoke: false } : failed(error);
    }
    try {
      let refusal = await talk.begin(line, signal);
      let ending: Ending = { pause: "long", spoke: false };
      if (refusal === null) {
        // Silence is still reported as silence where the port was opened again because of it.
        if (!told.isStale) told.report("waiting", words.opened);
        ({ refusal, ...ending } = await watch(line, talk, signal));
      }
      if (refusal !== null) told.report("wrong", refusal.words);
      return ending;
    } catch (error) {
      if (!signal.aborted) return failed(error);
      const why = String(gone.signal.reason);
      if (!stopping.signal.aborted) told.lost(why, words.gone(why));
      return { pause: "growing", spoke: talk.counts.valid > 0 };
    } finally {
      // The old handle must be closed before the port is opened again, or it hides the new device.
      await leave(line, gone.signal.aborted ? null : talk, failed);
    }
  }

  async function run(): Promise<void> {
    const pauseAfter = createPauses();
    while (!stopping.signal.aborted) await wait(pauseAfter(await once()), stopping.signal);
  }

  return {
    stream,
    canFormat: options.canFormat,
    start(given) {
      told.to(given);
      running = run();
    },
    async stop() {
      stopping.abort();
      await running;
    },
  };
}
