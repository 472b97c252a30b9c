/**
 * The recording that is open now, if any: begins with the first byte, knows which holes last, and closes. What the book cannot take
 * becomes a notice; other errors pass through.
 */
import { type EstimatorOptions, type Estimates, estimatesInline } from "../../../shared/pipeline/live-estimator.ts";
import { BookError, type Stream } from "../../ports/book.ts";
import { ownBook } from "../basics/own-book.ts";
import { type LiveRecording, type LiveRecordingOptions, startLiveRecording } from "./live-recording.ts";

export interface CurrentRecordingOptions
  extends Pick<LiveRecordingOptions, "book" | "clock" | "ready" | "canFormat" | "origin" | "gates" | "noted"> {
  /** Label and arming at the time when a recording begins. */
  readonly next: { label(): string; armed(): boolean };
  readonly makeEstimates: ((options: EstimatorOptions, onTrouble: (text: string) => void) => Estimates) | undefined;
  readonly notice: (key: string, text: string | null) => void;
}

export interface CurrentRecording {
  /** Null before the first byte. */
  now(): LiveRecording | null;
  receive(stream: Stream, bytes: Uint8Array, arrivalNs: number): void;
  /** A hole that has ended, or that has begun and lasts (`toNs` null). */
  gap(stream: Stream, cause: string, fromNs: number, toNs: number | null): void;
  /** The recording is closed when this returns; the generator derives the runs in steps. Null where none is open. */
  close(): Generator<number, readonly number[], undefined> | null;
}

export function createCurrentRecording(options: CurrentRecordingOptions): CurrentRecording {
  const { clock, notice, next, makeEstimates = estimatesInline } = options;
  const openGaps = new Map<Stream, { cause: string; fromNs: number }>();
  let open: LiveRecording | null = null;

  function begin(firstNs: number): LiveRecording {
    ownBook(options.book);
    open = startLiveRecording({
      ...options,
      firstNs,
      label: next.label(),
      onTrouble: (text) => notice("book", text),
      onMoved: (text) => notice("book-file", text),
      makeEstimates: (of) => makeEstimates(of, (text) => notice("timing", text)),
    });
    if (next.armed()) open.arm();
    return open;
  }

  return {
    now: () => open,
    receive(stream, bytes, arrivalNs) {
      try {
        (open ?? begin(arrivalNs)).packet(stream, bytes, arrivalNs);
      } catch (error) {
        if (!(error instanceof BookError)) throw error;
        notice("book", error.message);
      }
    },
    gap(stream, cause, fromNs, toNs) {
      if (toNs === null) openGaps.set(stream, { cause, fromNs });
      else {
        openGaps.delete(stream);
        open?.gap(stream, cause, fromNs, toNs);
      }
    },
    close() {
      if (open === null) return null;
      const closing = open;
      for (const [stream, gap] of openGaps) closing.gap(stream, gap.cause, gap.fromNs, clock.monotonicNs());
      openGaps.clear();
      notice("timing", null);
      open = null;
      return closing.close();
    },
  };
}
