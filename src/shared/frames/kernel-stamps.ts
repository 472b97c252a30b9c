/**
 * Stamps of the computer's own wall clock, as candump gives those of the kernel, as a steady count for the clock fit. That clock keeps the
 * pace of the base and only ever steps, when somebody or the network sets it. A step starts a new segment, so that it changes no result.
 * Never throws.
 */

/** Stamps of one socket come in order; further back than this means a step. */
const BACK_MS = 5;
/** How much fresher than the freshest so far a stamp may be: the first lines after a start can be this late. */
const EARLY_MS = 20;
const SETTLED_MS = 2000;
/** After such a silence of the bus a step cannot be told by the order alone: then the delay must be as before. */
const SILENCE_MS = 300;
/** A reader that stood still catches up at once: lines that stay later than this, for longer than it takes to settle, show a step back. */
const RESUME_MS = 100;
const LAST_SEGMENT = 0xffff;

export interface KernelStamps {
  /** ms since the first stamp; `segment` belongs to it. */
  push(stampMs: number, arrivalNs: number): number;
  readonly segment: number;
}

export function createKernelStamps(): KernelStamps {
  let segment = 0;
  let originMs: number | null = null;
  let lastMs = 0;
  let lastArrivalMs = 0;
  let begunMs = 0;
  /** Least delay of the segment. */
  let leastMs = 0;
  /** Since when every line was late; null while they are not. */
  let lateSinceMs: number | null = null;

  function isStep(stampMs: number, arrivalMs: number): boolean {
    if (stampMs < lastMs - BACK_MS) return true;
    const delayMs = arrivalMs - stampMs;
    if (delayMs < leastMs - EARLY_MS && arrivalMs - begunMs > SETTLED_MS) return true;
    const isOff = Math.abs(delayMs - leastMs) > RESUME_MS;
    if (isOff && arrivalMs - lastArrivalMs > SILENCE_MS && stampMs - lastMs > SILENCE_MS) return true;
    lateSinceMs = isOff ? (lateSinceMs ?? arrivalMs) : null;
    return lateSinceMs !== null && arrivalMs - lateSinceMs > SETTLED_MS;
  }

  return {
    push(stampMs, arrivalNs) {
      const arrivalMs = arrivalNs / 1e6;
      if (originMs === null || isStep(stampMs, arrivalMs)) {
        if (originMs !== null && segment < LAST_SEGMENT) segment += 1;
        originMs ??= stampMs;
        begunMs = arrivalMs;
        lateSinceMs = null;
        leastMs = arrivalMs - stampMs;
      }
      leastMs = Math.min(leastMs, arrivalMs - stampMs);
      lastMs = stampMs;
      lastArrivalMs = arrivalMs;
      return stampMs - originMs;
    },
    get segment() {
      return segment;
    },
  };
}
