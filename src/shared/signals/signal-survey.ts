/**
 * Watches every signal of the files: newest value, range, and a trace on an even grid, for the Wiring screen and for suggesting signals.
 * Bounded: the trace keeps the last `spanS` seconds. A grid step without a value is NaN.
 */
import { FRAME_EXTENDED, FRAME_REMOTE, type FrameBatch } from "../frames/frame-batch.ts";
import { isPresent, labelOf, physicalValue, type SignalDatabase, type SignalDecoder } from "../dbc/dbc-decode.ts";

/** Step of the grid, s: fine enough to see which of two torques comes first. */
export const SURVEY_STEP_S = 0.05;

/** One signal as seen so far, in the file's own unit. */
export interface SurveyedSignal {
  readonly decoder: SignalDecoder;
  /** Frames that carried it. */
  readonly count: number;
  /** Newest value; NaN before the first. */
  readonly last: number;
  readonly label: string | null;
  readonly lastArrivalNs: number;
  readonly min: number;
  readonly max: number;
  /** Oldest first, one value a grid step. */
  readonly trace: Float32Array;
}

export interface SignalSurvey {
  /** `only`: signals by name; null takes all. */
  push(batch: FrameBatch, only: ReadonlySet<string> | null): void;
  /** Ground speed at an arrival time; NaN where unknown. */
  pushSpeed(arrivalNs: number, speedMps: number): void;
  /** `only`: those named; all where it is absent. */
  signals(only?: ReadonlySet<string>): SurveyedSignal[];
  /** Ground speed on the signals' grid, m/s. */
  groundSpeed(): Float32Array;
}

/** A survey of all signals of a database over the last `spanS` seconds. */
export function createSignalSurvey(database: SignalDatabase, spanS = 120): SignalSurvey {
  return new Survey(database, Math.max(1, Math.round(spanS / SURVEY_STEP_S)));
}

interface Watched {
  readonly decoder: SignalDecoder;
  readonly ring: Float32Array;
  count: number;
  last: number;
  label: string | null;
  lastArrivalNs: number;
  min: number;
  max: number;
}

class Survey implements SignalSurvey {
  readonly #database: SignalDatabase;
  readonly #watched = new Map<SignalDecoder, Watched>();
  readonly #speed: Float32Array;
  readonly #steps: number;
  #newest = Number.NaN;
  #oldest = Number.NaN;

  constructor(database: SignalDatabase, steps: number) {
    this.#database = database;
    this.#steps = steps;
    this.#speed = new Float32Array(steps).fill(Number.NaN);
    for (const { signals } of database.messages) {
      for (const decoder of signals) {
        const ring = new Float32Array(steps).fill(Number.NaN);
        this.#watched.set(decoder, {
          decoder,
          ring,
          count: 0,
          last: Number.NaN,
          label: null,
          lastArrivalNs: Number.NaN,
          min: Number.NaN,
          max: Number.NaN,
        });
      }
    }
  }

  push(batch: FrameBatch, only: ReadonlySet<string> | null): void {
    for (let row = 0; row < batch.length; row++) {
      if ((batch.flags[row] & FRAME_REMOTE) !== 0) continue;
      const found = this.#database.find(batch.id[row], (batch.flags[row] & FRAME_EXTENDED) !== 0);
      if (found === undefined) continue;
      const slot = this.#slotOf(batch.arrivalNs[row]);
      for (const decoder of found.signals)
        if ((only === null || only.has(decoder.name)) && isPresent(decoder, batch, row)) this.#see(decoder, batch, row, slot);
    }
  }

  #see(decoder: SignalDecoder, batch: FrameBatch, row: number, slot: number): void {
    const watched = this.#watched.get(decoder);
    if (watched === undefined) return;
    const value = physicalValue(decoder, batch, row);
    watched.count += 1;
    watched.last = value;
    watched.label = labelOf(decoder, batch, row) ?? null;
    watched.lastArrivalNs = batch.arrivalNs[row];
    if (!(value >= watched.min)) watched.min = value;
    if (!(value <= watched.max)) watched.max = value;
    if (slot >= 0) watched.ring[slot] = value;
  }

  pushSpeed(arrivalNs: number, speedMps: number): void {
    const slot = this.#slotOf(arrivalNs);
    if (slot >= 0) this.#speed[slot] = speedMps;
  }

  signals(only?: ReadonlySet<string>): SurveyedSignal[] {
    const wanted = [...this.#watched.values()].filter(({ decoder }) => only === undefined || only.has(decoder.name));
    return wanted.map(({ ring, ...rest }) => ({ ...rest, trace: this.#unrolled(ring) }));
  }

  groundSpeed(): Float32Array {
    return this.#unrolled(this.#speed);
  }

  /** Index of a moment in the ring buffers, which are moved on as needed; -1 if the moment is older than they are. */
  #slotOf(arrivalNs: number): number {
    const step = Math.floor(arrivalNs / 1e9 / SURVEY_STEP_S);
    if (Number.isNaN(this.#newest)) {
      this.#newest = step;
      this.#oldest = step;
    }
    if (step > this.#newest) {
      for (let k = Math.max(this.#newest + 1, step - this.#steps + 1); k <= step; k++) this.#blank(k % this.#steps);
      this.#newest = step;
      this.#oldest = Math.max(this.#oldest, step - this.#steps + 1);
    }
    if (step < this.#oldest) return -1;
    return step % this.#steps;
  }

  #blank(slot: number): void {
    this.#speed[slot] = Number.NaN;
    for (const { ring } of this.#watched.values()) ring[slot] = Number.NaN;
  }

  #unrolled(ring: Float32Array): Float32Array {
    if (Number.isNaN(this.#newest)) return new Float32Array(0);
    return Float32Array.from({ length: this.#newest - this.#oldest + 1 }, (_, k) => ring[(this.#oldest + k) % this.#steps]);
  }
}
