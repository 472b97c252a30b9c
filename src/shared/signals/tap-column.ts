/** Decodes one signal in one role from the frames of its message into a column that widens with theirs. Makes no object for each value. */
import type { FrameBatch } from "../frames/frame-batch.ts";
import { isPresent, type SignalDecoder } from "../dbc/dbc-decode.ts";
import { type FrameRows, type FrameTimes, widened } from "./frame-rows.ts";
import { type RoleBinding, roleValue } from "./role-binding.ts";
import { type BitPlace, rawNumber } from "../dbc/signal-bits.ts";
import type { SignalTrack } from "./tracks.ts";

export class TapColumn {
  readonly binding: RoleBinding;
  readonly rows: FrameRows;
  /** Values left out: marked as unavailable by their label, or not a number. */
  unknownValues = 0;
  /** The newest value ever, and its arrival; NaN before the first. */
  lastValue = Number.NaN;
  lastArrivalNs = Number.NaN;
  /** One a frame of the message; NaN where the frame has none. */
  #value: Float64Array<ArrayBuffer>;
  /** How many frames have none. */
  #absent = 0;
  readonly #decoder: SignalDecoder;
  readonly #place: BitPlace;
  readonly #lastByte: number;
  readonly #always: boolean;
  /** Factor from the raw value to the role's unit: file factor, unit and sign in one. */
  readonly #gain: number;
  readonly #bias: number;
  readonly #noValue: ReadonlySet<number> | null;

  constructor(binding: RoleBinding, rows: FrameRows) {
    const { decoder, noValue } = binding;
    this.binding = binding;
    this.rows = rows;
    this.#value = new Float64Array(rows.capacity);
    this.#decoder = decoder;
    this.#place = decoder.place;
    this.#lastByte = decoder.place.lastByte;
    this.#always = decoder.signal.mux === null;
    this.#bias = roleValue(binding, decoder.signal.offset);
    this.#gain = decoder.signal.factor * binding.conversion.scale * (binding.invert ? -1 : 1);
    this.#noValue = noValue.size > 0 ? noValue : null;
  }

  /** Takes the signal from the frame that `rows` was given last, if it carries it. */
  take(batch: FrameBatch, row: number): void {
    const at = this.rows.length - 1;
    if (at >= this.#value.length) this.#value = widened(this.#value, this.rows.capacity);
    const value = this.#valueIn(batch, row);
    this.#value[at] = value;
    if (Number.isNaN(value)) {
      this.#absent += 1;
      return;
    }
    this.lastValue = value;
    this.lastArrivalNs = batch.arrivalNs[row];
  }

  #valueIn(batch: FrameBatch, row: number): number {
    if (this.#always ? this.#lastByte >= batch.byteLength[row] : !isPresent(this.#decoder, batch, row)) return Number.NaN;
    const raw = rawNumber(this.#place, batch, row);
    // Adding 0 keeps a negated zero from printing as -0.
    const value = raw * this.#gain + this.#bias + 0;
    if (Number.isFinite(value) && !this.#noValue?.has(raw)) return value;
    this.unknownValues += 1;
    return Number.NaN;
  }

  /** The first rows were dropped, and `rows` has only those that are left. */
  dropFirst(count: number): void {
    for (let i = 0; i < count; i++) if (Number.isNaN(this.#value[i])) this.#absent -= 1;
    this.#value.copyWithin(0, count, count + this.rows.length);
  }

  /** All values, a copy or a view like `times`, which are those of all frames of the message. */
  track(how: "copied" | "viewed", times: FrameTimes): SignalTrack {
    const { length } = this.rows;
    const all = how === "copied" ? this.#value.slice(0, length) : this.#value.subarray(0, length);
    return {
      name: this.binding.decoder.name,
      ...(this.#absent === 0 ? { ...times, value: all } : presentOnly(times, all, this.#absent)),
      quantum: this.binding.quantum,
      unit: this.binding.conversion.unit,
    };
  }
}

/** Without the frames that have no value. */
function presentOnly(times: FrameTimes, value: Float64Array, absent: number): FrameTimes & Pick<SignalTrack, "value"> {
  const kept = new Uint32Array(value.length - absent);
  let count = 0;
  for (let i = 0; i < value.length; i++) if (!Number.isNaN(value[i])) kept[count++] = i;
  const picked = (column: Float64Array) => Float64Array.from(kept, (i) => column[i]);
  return {
    arrivalNs: picked(times.arrivalNs),
    adapterMs: picked(times.adapterMs),
    clockSegment: Uint16Array.from(kept, (i) => times.clockSegment[i]),
    value: picked(value),
  };
}
