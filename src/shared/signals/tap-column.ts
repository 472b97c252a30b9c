/** One signal in one role: decodes it from frames into typed columns that double as they grow. No object a value. */
import type { FrameBatch } from "../frames/frame-batch.ts";
import { isPresent, type SignalDecoder } from "../dbc/dbc-decode.ts";
import { type RoleBinding, roleValue } from "./role-binding.ts";
import { type BitPlace, rawNumber } from "../dbc/signal-bits.ts";
import type { SignalTrack } from "./tracks.ts";

const FIRST_CAPACITY = 256;

export class TapColumn {
  readonly binding: RoleBinding;
  length = 0;
  /** Values left out: their text says that there is none, or they are no number. */
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
  /** Raw value to the role's: factor, unit and sign in one. */
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

  /** Lets go of leading rows that arrived before. */
  dropBefore(arrivalNs: number): void {
    let count = 0;
    while (count < this.length && this.#arrivalNs[count] < arrivalNs) count += 1;
    if (count === 0) return;
    for (const column of [this.#arrivalNs, this.#adapterMs, this.#value, this.#segment]) column.copyWithin(0, count, this.length);
    this.length -= count;
  }

  /** A copy of all rows. */
  track(): SignalTrack {
    return {
      name: this.binding.decoder.name,
      arrivalNs: this.#arrivalNs.slice(0, this.length),
      adapterMs: this.#adapterMs.slice(0, this.length),
      clockSegment: this.#segment.slice(0, this.length),
      value: this.#value.slice(0, this.length),
      quantum: this.binding.quantum,
      unit: this.binding.conversion.unit,
    };
  }

  #grow(): void {
    const capacity = this.length * 2;
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
