/**
 * A serial device as a byte source that never gives up: opens, begins the device, watches for silence and for bytes that mean nothing, and opens
 * again with growing pauses after it was lost. Every trouble is one line; every hole is told with its cause when it ends.
 */
import type { CanFormat } from "../../../shared/pipeline/packet.ts";
import type { Stream } from "../../ports/book.ts";
import type { ByteSource, SourceListener, SourceReport } from "../../ports/byte-source.ts";
import type { Clock } from "../../ports/clock.ts";
import type { DeviceTalk } from "./device-talk.ts";
import { type PortName, portTrouble } from "./port-trouble.ts";
import { openSerialLine, type SerialLine } from "./serial-line.ts";

const FIRST_PAUSE_MS = 250;
const LONGEST_PAUSE_MS = 5000;
const WATCH_MS = 250;
/** No receiver or adapter pauses this long while it lives: 1 Hz receivers speak each second. */
const SILENT_MS = { gnss: 2500, can: 1000 } as const;
/** A port that died without a word (Windows, some hubs) comes back only by opening it anew. */
const REOPEN_MS = 15_000;
/** So many bytes without one valid line are no chance: a burst of a receiver holds several sentences. */
const GARBAGE_BYTES = 400;

export interface ReopeningOptions {
  readonly stream: Stream;
  readonly canFormat: CanFormat;
  readonly name: PortName;
  readonly baud: number;
  readonly clock: Clock;
  readonly createTalk: () => DeviceTalk;
  /** What to say when bytes come and none is valid. */
  readonly garbage: (bytes: number) => string;
}

export function createReopeningSource(options: ReopeningOptions): ByteSource {
  const { stream, name, baud, clock } = options;
  let listener: SourceListener | null = null;
  let stopped = false;
  let line: SerialLine | null = null;
  let talk: DeviceTalk | null = null;
  let pauseMs = FIRST_PAUSE_MS;
  let retry: ReturnType<typeof setTimeout> | undefined;
  let watch: ReturnType<typeof setInterval> | undefined;
  let lastByteNs = 0;
  let gapFromNs: number | null = null;
  let gapCause = "";
  let said = "";
  let wrongSince: { bytes: number; valid: number } = { bytes: 0, valid: 0 };

  function report(state: SourceReport["state"], words: string): void {
    if (said === state + words) return;
    said = state + words;
    listener?.onReport({ state, words });
  }

  function beginGap(cause: string): void {
    // A stream that never spoke has no hole yet: its recording begins with its first byte.
    if (gapFromNs !== null || lastByteNs === 0) return;
    gapFromNs = lastByteNs;
    gapCause = cause;
    listener?.onGap(cause, gapFromNs, null);
  }

  function hear(current: DeviceTalk, bytes: Uint8Array, arrivalNs: number): void {
    const data = current.hear(bytes, arrivalNs);
    if (data === null) return;
    if (gapFromNs !== null) listener?.onGap(gapCause, gapFromNs, arrivalNs);
    gapFromNs = null;
    lastByteNs = arrivalNs;
    listener?.onBytes(data, arrivalNs);
  }

  function lost(why: string): void {
    line = null;
    beginGap(why);
    report("absent", `${name.whose}: ${name.path} is gone (${why}): plug it in again, it is opened by itself`);
    again();
  }

  function again(): void {
    clearTimeout(retry);
    if (stopped) return;
    // Jitter keeps two devices behind one hub from always trying at once.
    retry = setTimeout(() => void open(), pauseMs * (0.8 + 0.4 * Math.random()));
    pauseMs = Math.min(LONGEST_PAUSE_MS, pauseMs * 2);
  }

  async function open(): Promise<void> {
    const current = options.createTalk();
    talk = current;
    wrongSince = { bytes: 0, valid: 0 };
    try {
      const opened = await openSerialLine({
        path: name.path,
        baud,
        clock,
        onBytes: (bytes, arrivalNs) => hear(current, bytes, arrivalNs),
        onClose: (why) => {
          if (talk === current && !stopped) lost(why);
        },
      });
      line = opened;
      const refusal = stopped ? null : await current.begin(opened);
      if (stopped) return await shut();
      if (line !== opened) return;
      if (refusal !== null) {
        report("wrong", refusal);
        talk = null;
        line = null;
        await opened.close();
        pauseMs = LONGEST_PAUSE_MS;
        return again();
      }
      report("waiting", `${name.whose}: ${name.path} is open, no bytes yet`);
    } catch (error) {
      const failed = line;
      line = null;
      talk = null;
      await failed?.close();
      report("absent", portTrouble(name, error));
      again();
    }
  }

  /** The old handle must be gone before the port is opened anew, or it shadows the new device. */
  async function shut(): Promise<void> {
    const [current, ending] = [line, talk];
    line = null;
    talk = null;
    if (current === null) return;
    try {
      await ending?.end(current);
    } catch (error) {
      report("absent", portTrouble(name, error));
    }
    await current.close();
  }

  function look(): void {
    if (line === null || talk === null) return;
    const { bytes, valid } = talk.counts;
    const fresh = { bytes: bytes - wrongSince.bytes, valid: valid - wrongSince.valid };
    const silentMs = (clock.monotonicNs() - lastByteNs) / 1e6;
    if (fresh.valid > 0) {
      pauseMs = FIRST_PAUSE_MS;
      wrongSince = { bytes, valid };
      report("fresh", talk.caution ?? "");
    } else if (fresh.bytes > GARBAGE_BYTES) {
      report("wrong", options.garbage(fresh.bytes));
      wrongSince = { bytes, valid };
    }
    if (lastByteNs === 0 || silentMs < SILENT_MS[stream]) return;
    beginGap("no bytes came");
    if (!said.startsWith("wrong")) report("stale", `silent for ${Math.floor(silentMs / 1000)} s`);
    if (silentMs > REOPEN_MS) void shut().then(again);
  }

  return {
    stream,
    canFormat: options.canFormat,
    start(given) {
      listener = given;
      watch = setInterval(look, WATCH_MS);
      void open();
    },
    async stop() {
      stopped = true;
      clearTimeout(retry);
      clearInterval(watch);
      await shut();
    },
  };
}
