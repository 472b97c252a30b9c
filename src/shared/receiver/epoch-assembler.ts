/**
 * Puts a receiver's sentences together into epochs by their time field, in any order. Bounded memory, linear work, never throws. An epoch
 * is emitted when the next one begins. Its sentences that come after that are counted and dropped, and so is an epoch that comes twice. A
 * sentence without a time belongs to the burst in which it stands.
 */
import { DAY_MS, isoDate, isoTime } from "../kernel/civil-date.ts";
import { createNmeaScanner, type NmeaCounts, type NmeaSentence } from "./nmea-sentence.ts";
import { DimensionMemory, type Epoch, EpochDraft, SpeedHabits } from "./epoch-draft.ts";
import { createReading, type Reading, readSentence } from "./nmea-reading.ts";
import type { Fix } from "../signals/tracks.ts";

/** Sentences of one epoch may differ by a millisecond of rounding; 25 Hz epochs lie 40 ms apart. */
const SAME_EPOCH_MS = 5;
/** Number of finished epochs that are remembered, to recognise their late sentences and repeats. */
const REMEMBERED = 8;
const MOST_WAITING = 64;
/** Pauses inside a burst are shorter than this: USB packets, and sentences at 115,200 baud. */
const LEAST_PAUSE_NS = 3e6;

interface EpochCounts {
  readonly epochs: number;
  /** Sentences of a finished epoch, or the same sentence twice in one epoch. */
  readonly repeatedSentences: number;
}

export interface EpochAssembler {
  push(bytes: Uint8Array, arrivalNs: number, emit: (epoch: Epoch) => void): void;
  /** The stream has ended: reads a last line without an end and finishes the open epoch. */
  flush(emit: (epoch: Epoch) => void): void;
  /** The epoch now coming in, as far as it is known, for live display; null between streams. */
  open(): Epoch | null;
  readonly sentences: Readonly<NmeaCounts>;
  readonly counts: EpochCounts;
}

/** An assembler with nothing read yet. */
export function createEpochAssembler(): EpochAssembler {
  return new Assembler();
}

/** One line of the `epochs` command; null where unknown. */
export interface EpochLine {
  readonly utc: string | null;
  readonly timeOfDay: string | null;
  readonly lat: number | null;
  readonly lon: number | null;
  readonly altM: number | null;
  readonly speedMps: number | null;
  readonly courseDeg: number | null;
  readonly fix: Fix | null;
  readonly hdop: number | null;
  readonly satellites: number | null;
}

/** The epoch as the `epochs` command prints it. */
export function epochLine(epoch: Epoch): EpochLine {
  const timeOfDay = Number.isNaN(epoch.timeOfDayMs) ? null : isoTime(epoch.timeOfDayMs);
  const known = (value: number) => (Number.isNaN(value) ? null : value);
  return {
    utc: Number.isNaN(epoch.utcMs) ? null : `${isoDate(Math.round((epoch.utcMs - epoch.timeOfDayMs) / DAY_MS))}T${timeOfDay}Z`,
    timeOfDay,
    lat: known(epoch.latDeg),
    lon: known(epoch.lonDeg),
    altM: known(epoch.altM),
    speedMps: known(epoch.speedMps),
    courseDeg: known(epoch.courseDeg),
    fix: epoch.fix,
    hdop: known(epoch.hdop),
    satellites: known(epoch.satellites),
  };
}

class Assembler implements EpochAssembler {
  readonly counts = { epochs: 0, repeatedSentences: 0 };
  readonly #scanner = createNmeaScanner();
  readonly #habits = new SpeedHabits();
  readonly #memory = new DimensionMemory();
  #open: EpochDraft | null = null;
  #reading = createReading();
  /** Sentences without a time since the last one with a time: they belong to the open epoch or to the next. */
  readonly #waiting: Reading[] = [];
  #waitingCount = 0;
  /** True while the last sentence with a time belonged to a finished epoch: the burst is a repeat. */
  #repeating = false;
  readonly #finished = new Float64Array(REMEMBERED).fill(Number.NaN);
  #finishedNext = 0;
  #day = Number.NaN;
  #timeOfDayMs = Number.NaN;
  #emit: (epoch: Epoch) => void = noEpoch;

  get sentences(): Readonly<NmeaCounts> {
    return this.#scanner.counts;
  }

  push(bytes: Uint8Array, arrivalNs: number, emit: (epoch: Epoch) => void): void {
    this.#emit = emit;
    this.#scanner.push(bytes, arrivalNs, this.#take);
    this.#emit = noEpoch;
  }

  flush(emit: (epoch: Epoch) => void): void {
    this.#emit = emit;
    this.#scanner.flush(this.#take);
    if (this.#open !== null) this.#absorb(this.#open, 0, this.#waitingCount);
    else if (this.#waitingHasEpoch()) this.#openFromWaiting();
    this.#waitingCount = 0;
    this.#close();
    this.#emit = noEpoch;
  }

  open(): Epoch | null {
    if (this.#open === null) return null;
    return this.#open.finish(this.#habits, this.#memory, this.#utcOf(this.#open));
  }

  readonly #take = (sentence: NmeaSentence): void => {
    const reading = this.#reading;
    readSentence(sentence, reading);
    if (Number.isNaN(reading.timeOfDayMs)) {
      if (this.#repeating) this.counts.repeatedSentences += 1;
      else this.#wait(reading);
      return;
    }
    const open = this.#open;
    if (open !== null && this.#belongs(open, reading)) {
      this.#repeating = false;
      this.#absorb(open, 0, this.#waitingCount);
      this.#waitingCount = 0;
      if (open.has(reading.type)) this.counts.repeatedSentences += 1;
      else this.#learnAndTake(open, reading);
      return;
    }
    this.#repeating = this.#finished.includes(reading.timeOfDayMs);
    if (this.#repeating) {
      // The sentences without a time beside it are repeats too: another epoch must not take their speed.
      this.counts.repeatedSentences += 1 + this.#waitingCount;
      this.#waitingCount = 0;
      return;
    }
    this.#begin(reading);
  };

  #belongs(open: EpochDraft, reading: Reading): boolean {
    const apart = Math.abs(open.timeOfDayMs - reading.timeOfDayMs);
    return apart === 0 || (Math.min(apart, DAY_MS - apart) <= SAME_EPOCH_MS && !open.has(reading.type));
  }

  /** A sentence of another time. Waiting sentences before the pause belong to the old epoch, those after it to the new one. */
  #begin(reading: Reading): void {
    const split = this.#splitWaiting(reading);
    if (this.#open !== null) this.#absorb(this.#open, 0, split);
    this.#close();
    const next = new EpochDraft();
    this.#absorb(next, split, this.#waitingCount);
    this.#waitingCount = 0;
    this.#learnAndTake(next, reading);
    this.#open = next;
  }

  #splitWaiting(reading: Reading): number {
    const count = this.#waitingCount;
    const open = this.#open;
    let before = open === null ? Number.NaN : open.lastArrivalNs;
    let longestNs = 0;
    let secondNs = 0;
    let at = open === null ? 0 : count;
    for (let i = 0; i <= count; i++) {
      const arrivalNs = i < count ? this.#waiting[i].arrivalNs : reading.arrivalNs;
      const pauseNs = arrivalNs - before;
      before = arrivalNs;
      if (pauseNs > longestNs) {
        secondNs = longestNs;
        longestNs = pauseNs;
        at = i;
      } else if (pauseNs > secondNs) secondNs = pauseNs;
    }
    if (longestNs > LEAST_PAUSE_NS && longestNs > 1.5 * secondNs) return at;
    // Without a pause: a sentence type that the open epoch already has, or a speed that contradicts it, belongs to the next epoch.
    if (open === null) return 0;
    for (let i = 0; i < count; i++) {
      const waiting = this.#waiting[i];
      if (waiting.type === "VTG" && (open.has("VTG") || contradicts(waiting, open.rmcKnots))) return i;
    }
    return count;
  }

  #wait(reading: Reading): void {
    if (isEpochType(reading) && this.#isWaiting(reading.type)) {
      if (this.#cameAgain(reading)) {
        this.counts.repeatedSentences += 1;
        return;
      }
      // The second sentence of its type without a time in between: the receiver has no time yet, and a cycle has ended.
      if (this.#open !== null && !this.#open.has(reading.type)) {
        this.#absorb(this.#open, 0, this.#waitingCount);
        this.#close();
      } else {
        this.#close();
        this.#openFromWaiting();
      }
      this.#waitingCount = 0;
    }
    if (this.#waitingCount === MOST_WAITING) {
      this.#waiting[MOST_WAITING - 1].byteLength += reading.byteLength;
      return;
    }
    this.#reading = this.#waiting[this.#waitingCount] ?? createReading();
    this.#waiting[this.#waitingCount] = reading;
    this.#waitingCount += 1;
  }

  #isWaiting(type: Reading["type"]): boolean {
    for (let i = 0; i < this.#waitingCount; i++) if (this.#waiting[i].type === type) return true;
    return false;
  }

  /** Whether the same sentence is already waiting while its epoch has a time: a line that came twice, not a new cycle. */
  #cameAgain({ type, knots, courseDeg, byteLength }: Reading): boolean {
    if (this.#open === null || Number.isNaN(this.#open.timeOfDayMs)) return false;
    return this.#waiting
      .slice(0, this.#waitingCount)
      .some((one) => one.type === type && one.knots === knots && Object.is(one.courseDeg, courseDeg) && one.byteLength === byteLength);
  }

  #waitingHasEpoch(): boolean {
    for (let i = 0; i < this.#waitingCount; i++) if (isEpochType(this.#waiting[i])) return true;
    return false;
  }

  #openFromWaiting(): void {
    const untimed = new EpochDraft();
    this.#absorb(untimed, 0, this.#waitingCount);
    this.#open = untimed;
  }

  #absorb(draft: EpochDraft, from: number, to: number): void {
    for (let i = from; i < to; i++) this.#learnAndTake(draft, this.#waiting[i]);
  }

  #learnAndTake(draft: EpochDraft, reading: Reading): void {
    this.#habits.learn(reading);
    draft.take(reading);
  }

  #close(): void {
    const open = this.#open;
    if (open === null) return;
    this.#open = null;
    const utcMs = this.#utcOf(open);
    const epoch = open.finish(this.#habits, this.#memory, utcMs);
    open.remember(this.#memory);
    if (!Number.isNaN(open.timeOfDayMs)) {
      if (!Number.isNaN(utcMs)) this.#day = Math.round((utcMs - open.timeOfDayMs) / DAY_MS);
      this.#timeOfDayMs = open.timeOfDayMs;
      this.#finished[this.#finishedNext] = open.timeOfDayMs;
      this.#finishedNext = (this.#finishedNext + 1) % REMEMBERED;
    }
    this.counts.epochs += 1;
    this.#emit(epoch);
  }

  /** The epoch's own date, or the last known date counted on past midnight. */
  #utcOf({ day, timeOfDayMs }: EpochDraft): number {
    if (!Number.isNaN(day)) return day * DAY_MS + timeOfDayMs;
    const stepMs = timeOfDayMs - this.#timeOfDayMs;
    const turn = stepMs < -DAY_MS / 2 ? 1 : stepMs > DAY_MS / 2 ? -1 : 0;
    return (this.#day + turn) * DAY_MS + timeOfDayMs;
  }
}

/** Sentence types that come once an epoch. */
function isEpochType(reading: Reading): boolean {
  return reading.type !== "GSA" && reading.type !== "GSV" && reading.type !== "other";
}

/** A VTG whose speed differs from the RMC's by more than both roundings and the receiver's filtering. */
function contradicts(vtg: Reading, rmcKnots: number): boolean {
  return Math.abs(vtg.knots - rmcKnots) > 3 * 10 ** -vtg.knotsDecimals + 0.01 * rmcKnots;
}

function noEpoch(): void {
  // Epochs are emitted only while a caller listens; push and flush set the listener first.
}
