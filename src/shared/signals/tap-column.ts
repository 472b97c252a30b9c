/** Decodes one signal in one role from frames into typed columns that widen as they grow. Makes no object for each value. */
import type { FrameBatch } from "../frames/frame-batch.ts";
import { isPresent, type SignalDecoder } from "../dbc/dbc-decode.ts";
import { type RoleBinding, roleValue } from "./role-binding.ts";
import { type BitPlace, rawNumber } from "../dbc/signal-bits.ts";
import type { SignalTrack } from "./tracks.ts";

const FIRST_CAPACITY = 256;
/** Doubled, half of an hour's columns would be empty. */
const GROWTH = 1.4;

export class TapColumn {
  readonly binding: RoleBinding;
  length = 0;
  /** Values left out: marked as unavailable by their label, or not a number. */
  unknownValues = 0;
  /** The newest value ever, and its arrival; NaN before the first. */
  lastValue = Number.NaN;
  lastArrivalNs = Number.NaN;
  #arrivalNs = new Float64Array(FIRST_CAPACITY);
  #adapterMs = new Float64Array(FIRST_CAPACITY);
  #value = new Float64Array(FIRST_CAPACITY);
  #segment = new Uint16Array(FIRST_CAPACITY);
  readonly #decoder: SignalDecoder;
  readonly #place: BitPlace;
  readonly #lastByte: number;
  readonly #always: boolean;
  /** Factor from the raw value to the role's unit: file factor, unit and sign in one. */
  readonly #gain: number;
  readonly #bias: number;
  readonly #noValue: ReadonlySet<number> | null;

  constructor(binding: RoleBinding) {
    const { decoder, noValue } = binding;
    this.binding = binding;
    this.#decoder = decoder;
    this.#place = decoder.place;
    this.#lastByte = decoder.place.lastByte;
    this.#always = decoder.signal.mux === null;
    this.#bias = roleValue(binding, decoder.signal.offset);
    this.#gain = decoder.signal.factor * binding.conversion.scale * (binding.invert ? -1 : 1);
    this.#noValue = noValue.size > 0 ? noValue : null;
  }

  /** Takes the signal from a frame of its message, if the frame carries it. */
  take(batch: FrameBatch, row: number): void {
    if (this.#always ? this.#lastByte >= batch.byteLength[row] : !isPresent(this.#decoder, batch, row)) return;
    const raw = rawNumber(this.#place, batch, row);
    // Adding 0 keeps a negated zero from printing as -0.
    const value = raw * this.#gain + this.#bias + 0;
    if (!Number.isFinite(value) || this.#noValue?.has(raw)) {
      this.unknownValues += 1;
      return;
    }
    const at = this.length;
    if (at === this.#value.length) this.#grow();
    this.#arrivalNs[at] = batch.arrivalNs[row];
    this.#adapterMs[at] = batch.adapterMs[row];
    this.#value[at] = value;
    this.#segment[at] = batch.clockSegment[row];
    this.length = at + 1;
    this.lastValue = value;
    this.lastArrivalNs = batch.arrivalNs[row];
  }

  /** Drops the first rows, those that arrived before. */
  dropBefore(arrivalNs: number): void {
    let count = 0;
    while (count < this.length && this.#arrivalNs[count] < arrivalNs) count += 1;
    if (count === 0) return;
    for (const column of [this.#arrivalNs, this.#adapterMs, this.#value, this.#segment]) column.copyWithin(0, count, this.length);
    this.length -= count;
  }

  /** All rows: a copy, or a view that is good until `dropBefore`. */
  track(how: "copied" | "viewed"): SignalTrack {
    const rows = <C extends Float64Array | Uint16Array>(column: C) =>
      (how === "copied" ? column.slice(0, this.length) : column.subarray(0, this.length)) as C;
    return {
      name: this.binding.decoder.name,
      arrivalNs: rows(this.#arrivalNs),
      adapterMs: rows(this.#adapterMs),
      clockSegment: rows(this.#segment),
      value: rows(this.#value),
      quantum: this.binding.quantum,
      unit: this.binding.conversion.unit,
    };
  }

  #grow(): void {
    const capacity = Math.ceil(this.length * GROWTH);
    const widened = (from: Float64Array): Float64Array<ArrayBuffer> => {
      const to = new Float64Array(capacity);
      to.set(from);
      return to;
    };
    this.#arrivalNs = widened(this.#arrivalNs);
    this.#adapterMs = widened(this.#adapterMs);
    this.#value = widened(this.#value);
    const segment = new Uint16Array(capacity);
    segment.set(this.#segment);
    this.#segment = segment;
  }
}
