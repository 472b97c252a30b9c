/**
 * What talks on a port in this opening, heard before anything is written: silence and an adapter's own lines may be written to, a receiver's
 * sentences and everything else may not. Waits until that is plain, for a few seconds at most. Memory is bounded.
 */
import { FrameBatch } from "../../../shared/frames/frame-batch.ts";
import { createSlcanParser } from "../../../shared/frames/slcan-parser.ts";
import { createReceiverEar } from "../../../shared/receiver/receiver-bytes.ts";
import type { Clock } from "../../ports/clock.ts";
import { wait } from "./wait.ts";

/** A receiver says something each second. */
const QUIET_MS = 1200;
/** Some ports and adapters give a stray byte or a greeting when they are opened: silence after it is silence. */
const LONGEST_MS = 4000;
const LOOK_MS = 50;
/** A process that stood still listened no longer than this, whatever the clock says. */
const MOST_LOOK_MS = 2 * LOOK_MS;
/** One line is cut where listening began; a full buffer of an adapter may spoil some more. */
const SPOILED_SHARE = 0.25;

/** Lets waiting bytes in. */
const breathe = () => new Promise<void>((resolve) => setImmediate(resolve));

type PortVoice = "silence" | "adapter" | "receiver" | "something else";

export interface FirstEar {
  push(bytes: Uint8Array, arrivalNs: number): void;
  /** Listens; rejects with the signal's reason. */
  listen(signal: AbortSignal): Promise<PortVoice>;
  /** Whether a receiver's sentences came by now. */
  readonly isReceiver: boolean;
  /** Whole frames heard by now. */
  readonly frames: number;
}

export function createFirstEar(clock: Pick<Clock, "monotonicNs">): FirstEar {
  const receiver = createReceiverEar();
  /** What an open adapter reports of its bus, with or without frames. */
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
        // What came while this process was busy waits in the port's buffer: it is read before it counts as silence.
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
