/**
 * Unwraps an adapter's millisecond counter into a steady count, guided by the packets' arrival: data can be late, never early. A jump that
 * fits no single clock starts a new segment once a second stamp confirms it. A single odd stamp gets NaN, so that one wrong digit does not
 * split the clock.
 */

/** The counter runs 0000 to EA5F = 59,999 ms, then starts again (adapter command sheet; docs/check-values.md, SLCAN). */
export const STAMP_PERIOD_MS = 60_000;
/**
 * Period of 8-digit microsecond stamps, taken as a whole 32-bit counter (from memory). A counter with another period starts a new segment
 * at each wrap.
 */
export const MICRO_STAMP_PERIOD_MS = 4_294_967.296;

/** Stamps a little behind the one before are frames out of order, not another clock. */
const OUT_OF_ORDER_MS = 1000;
/** How much fresher a stamp may be than the freshest so far: the first packets after opening can be this late. */
const EARLY_MS = 500;
/** A delay that jumps by more than this may mean a restarted counter, */
const LATE_JUMP_MS = 2000;
/** unless the stamp continues from the last one: then the host was stalled and is now reading the backlog. */
const BACKLOG_MS = 1000;
/** After a silence longer than this the adapter may have lost its supply. */
const SILENCE_MS = 300;
/** Its counter then counts as uninterrupted only if it fits the clock from before this closely, */
const RESUME_MS = 100;
/** or continues from the last stamp within this, as a backlog does. */
const RESUME_BACKLOG_MS = 250;
/** The envelope may rise this fast: crystals stay inside 300 ppm. */
const ENVELOPE_RISE = 500e-6;
/** A second odd stamp confirms the first if it lies this close to where the first predicts it. */
const CONFIRM_MS = 500;

const LAST_SEGMENT = 0xffff;

/** One stream's counter. `segment` belongs to the value `push` last returned. */
export interface StampUnwrap {
  /** Unwrapped ms; NaN while a jump waits for its confirmation. `stampMs` lies in [0, `periodMs`). */
  push(stampMs: number, arrivalNs: number, periodMs: number): number;
  readonly segment: number;
  /** Stamps that were dropped as single odd ones or that wait for a new segment to be confirmed. */
  readonly unsure: number;
  /** The port was reopened: the next stamp starts a new segment, whatever its value. */
  breakClock(): void;
}

/** A fresh counter: the first stamp is kept as it is. */
export function createStampUnwrap(): StampUnwrap {
  return new Unwrap();
}

class Unwrap implements StampUnwrap {
  segment = 0;
  unsure = 0;
  #started = false;
  #broken = false;
  #periodMs = STAMP_PERIOD_MS;
  #lastMs = 0;
  #lastArrivalNs = 0;
  #lastDelayMs = 0;
  /** Least (arrival - stamp) of the segment, slowly rising. */
  #envelopeMs = 0;
  #pendingMs = Number.NaN;
  #pendingArrivalNs = 0;

  breakClock(): void {
    this.#broken = this.#started;
    this.#pendingMs = Number.NaN;
  }

  push(stampMs: number, arrivalNs: number, periodMs: number): number {
    if (!this.#started || this.#broken || periodMs !== this.#periodMs) return this.#start(stampMs, arrivalNs, periodMs);
    const sinceMs = (arrivalNs - this.#lastArrivalNs) / 1e6;
    const wrapped = this.#lastMs - Math.floor(this.#lastMs / periodMs) * periodMs;
    let aheadMs = stampMs - wrapped;
    if (aheadMs < 0) aheadMs += periodMs;
    const arrivalMs = arrivalNs / 1e6;
    const envelopeMs = this.#envelopeMs + ENVELOPE_RISE * Math.max(0, sinceMs);
    let nowMs = this.#lastMs + aheadMs;
    if (sinceMs === 0) {
      // Inside one packet the adapter keeps its order and holds far less than half a period.
      if (aheadMs > periodMs / 2) nowMs -= periodMs;
    } else {
      // The latest wrap count that does not make the stamp impossibly early.
      nowMs += periodMs * Math.floor((arrivalMs - envelopeMs + EARLY_MS - nowMs) / periodMs);
    }
    const delayMs = arrivalMs - nowMs - envelopeMs;
    const backMs = this.#lastMs - nowMs;
    const jumped = sinceMs !== 0 && -backMs > BACKLOG_MS && delayMs - this.#lastDelayMs > LATE_JUMP_MS;
    const resumes = Math.abs(delayMs) < RESUME_MS || (backMs <= 0 && -backMs < RESUME_BACKLOG_MS);
    if (backMs > OUT_OF_ORDER_MS || jumped || (sinceMs > SILENCE_MS && !resumes)) return this.#odd(stampMs, arrivalNs, periodMs);
    this.#pendingMs = Number.NaN;
    this.#accept(nowMs, arrivalNs, Math.min(envelopeMs, arrivalMs - nowMs));
    return nowMs;
  }

  #odd(stampMs: number, arrivalNs: number, periodMs: number): number {
    if (Number.isFinite(this.#pendingMs)) {
      let aheadMs = stampMs - this.#pendingMs;
      if (aheadMs < -OUT_OF_ORDER_MS) aheadMs += periodMs;
      const sinceMs = (arrivalNs - this.#pendingArrivalNs) / 1e6;
      if (Math.abs(aheadMs - sinceMs) <= CONFIRM_MS + LATE_JUMP_MS) return this.#start(stampMs, arrivalNs, periodMs);
    }
    this.#pendingMs = stampMs;
    this.#pendingArrivalNs = arrivalNs;
    this.unsure += 1;
    return Number.NaN;
  }

  #start(stampMs: number, arrivalNs: number, periodMs: number): number {
    if (this.#started && this.segment < LAST_SEGMENT) this.segment += 1;
    this.#started = true;
    this.#broken = false;
    this.#periodMs = periodMs;
    this.#pendingMs = Number.NaN;
    this.#accept(stampMs, arrivalNs, arrivalNs / 1e6 - stampMs);
    return stampMs;
  }

  #accept(nowMs: number, arrivalNs: number, envelopeMs: number): void {
    this.#lastMs = nowMs;
    this.#lastArrivalNs = arrivalNs;
    this.#envelopeMs = envelopeMs;
    this.#lastDelayMs = arrivalNs / 1e6 - nowMs - envelopeMs;
  }
}
