/**
 * Finds out what sends on a newly opened port, before anything is written. After silence or an adapter's own lines, writing is allowed;
 * after a receiver's sentences or anything else it is not. Waits until this is clear, for a few seconds at most. Memory is bounded.
 */
import { FrameBatch } from "../../../shared/frames/frame-batch.ts";
import { createSlcanParser } from "../../../shared/frames/slcan-parser.ts";
import { createReceiverEar } from "../../../shared/receiver/receiver-bytes.ts";
import type { Clock } from "../../ports/clock.ts";
import { wait } from "../sources/wait.ts";

/** A receiver sends something every second. */
const QUIET_MS = 1200;
/** Some ports and adapters send a stray byte or a greeting when opened; silence after that counts as silence. */
const LONGEST_MS = 4000;
const LOOK_MS = 50;
/** A process that was stopped for a while has listened no longer than this, whatever the clock says. */
const MOST_LOOK_MS = 2 * LOOK_MS;
/** One line is cut where listening began; an adapter's full buffer may damage some more. */
const SPOILED_SHARE = 0.25;

/** Lets waiting bytes be read. */
const breathe = () => new Promise<void>((resolve) => setImmediate(resolve));

type PortVoice = "silence" | "adapter" | "receiver" | "something else";

export interface FirstEar {
  push(bytes: Uint8Array, arrivalNs: number): void;
  /** Listens; rejects with the signal's reason. */
  listen(signal: AbortSignal): Promise<PortVoice>;
  /** Whether a receiver's sentences have come so far. */
  readonly isReceiver: boolean;
  /** Whole frames received so far. */
  readonly frames: number;
}

export function createFirstEar(clock: Pick<Clock, "monotonicNs">): FirstEar {
  const receiver = createReceiverEar();
  /** Reports of an open adapter about its bus, with or without frames. */
  let reports = 0;
  const adapter = createSlcanParser({
    onReply: ({ kind }) => {
      if (kind === "busState" || kind === "busErrors") reports += 1;
    },
  });
  const batch = new FrameBatch();
  let lastByteNs: number | null = null;

  const isAdapter = () => {
    const { frames, malformedLines, overlongLines } = adapter.counts;
    return frames + reports > 0 && malformedLines + overlongLines <= 1 + SPOILED_SHARE * (frames + reports);
  };

  return {
    push(bytes, arrivalNs) {
      if (bytes.length === 0) return;
      lastByteNs = arrivalNs;
      receiver.push(bytes);
      adapter.push(bytes, arrivalNs, batch);
      batch.clear();
    },
    async listen(signal) {
      let [heardMs, quietMs] = [0, 0];
      let lookedNs = clock.monotonicNs();
      let seenNs = lastByteNs;
      for (;;) {
        await wait(LOOK_MS, signal);
        // Bytes that came while this process was busy wait in the port's buffer: they are read before it counts as silence.
        await breathe();
        signal.throwIfAborted();
        const nowNs = clock.monotonicNs();
        const lookMs = Math.min((nowNs - lookedNs) / 1e6, MOST_LOOK_MS);
        lookedNs = nowNs;
        heardMs += lookMs;
        quietMs = lastByteNs === seenNs ? quietMs + lookMs : 0;
        seenNs = lastByteNs;
        if (receiver.counts.sentences > 0) return "receiver";
        if (heardMs < QUIET_MS) continue;
        if (isAdapter()) return "adapter";
        if (quietMs >= QUIET_MS) return "silence";
        if (heardMs >= LONGEST_MS) return "something else";
      }
    },
    get isReceiver() {
      return receiver.counts.sentences > 0;
    },
    get frames() {
      return adapter.counts.frames;
    },
  };
}
