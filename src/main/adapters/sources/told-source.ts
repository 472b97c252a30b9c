/**
 * Reports for one source: its bytes, each problem once, and every hole with its cause when it ends. Without a listener nothing is
 * reported.
 */
import type { SourceListener, SourceReport } from "../../ports/byte-source.ts";
import type { Clock } from "../../ports/clock.ts";

export interface ToldSource {
  /** When the last byte came, ns; 0 before the first. */
  readonly lastByteNs: number;
  /** True when the last report was that it is silent. */
  readonly isStale: boolean;
  to(listener: SourceListener): void;
  report(state: SourceReport["state"], words: string): void;
  /** The device is gone: a hole begins. */
  lost(cause: string, words: string): void;
  /** Something is missing between the last byte and what comes now. */
  hole(cause: string, arrivalNs: number): void;
  take(data: Uint8Array, arrivalNs: number): void;
  /** A stream from which nothing ever came is still waited for, and this is reported. */
  stale(): void;
}

export function createToldSource(clock: Pick<Clock, "monotonicNs">): ToldSource {
  let listener: SourceListener | null = null;
  let lastByteNs = 0;
  let gapFromNs: number | null = null;
  let gapCause = "";
  let said = "";

  function report(state: SourceReport["state"], words: string): void {
    if (said === state + words) return;
    said = state + words;
    listener?.onReport({ state, words });
  }

  function beginGap(cause: string): void {
    // A stream from which nothing ever came has no hole yet: its recording begins with its first byte.
    if (gapFromNs !== null || lastByteNs === 0) return;
    gapFromNs = lastByteNs;
    gapCause = cause;
    listener?.onGap(cause, gapFromNs, null);
  }

  return {
    get lastByteNs() {
      return lastByteNs;
    },
    get isStale() {
      return said.startsWith("stale");
    },
    to(given) {
      listener = given;
    },
    report,
    lost(cause, words) {
      beginGap(cause);
      report("absent", words);
    },
    hole(cause, arrivalNs) {
      if (lastByteNs !== 0) listener?.onGap(cause, lastByteNs, arrivalNs);
    },
    take(data, arrivalNs) {
      if (gapFromNs !== null) listener?.onGap(gapCause, gapFromNs, arrivalNs);
      gapFromNs = null;
      lastByteNs = arrivalNs;
      listener?.onBytes(data, arrivalNs);
    },
    stale() {
      if (lastByteNs === 0) return;
      beginGap("no bytes came");
      const silentS = Math.floor((clock.monotonicNs() - lastByteNs) / 1e9);
      if (!said.startsWith("wrong")) report("stale", `silent for ${silentS} s`);
    },
  };
}
