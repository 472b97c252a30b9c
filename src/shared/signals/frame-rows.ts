/** When the frames of one message came, as columns that widen as they grow: all its signals share them. Makes no object for each frame. */
import type { FrameBatch } from "../frames/frame-batch.ts";
import type { SignalTrack } from "./tracks.ts";

/** Doubled, half of an hour's columns would be empty. */
const GROWTH = 1.4;

export type FrameTimes = Pick<SignalTrack, "arrivalNs" | "adapterMs" | "clockSegment">;

export class FrameRows {
  length = 0;
  /** Room in the columns; those of the signals have as much. */
  capacity = 256;
  #arrivalNs = new Float64Array(this.capacity);
  #adapterMs = new Float64Array(this.capacity);
  #segment = new Uint16Array(this.capacity);

  /** Adds a frame of the message. */
  add(batch: FrameBatch, row: number): void {
    const at = this.length;
    if (at === this.capacity) this.#grow();
    this.#arrivalNs[at] = batch.arrivalNs[row];
    this.#adapterMs[at] = batch.adapterMs[row];
    this.#segment[at] = batch.clockSegment[row];
    this.length = at + 1;
  }

  /** Drops the first rows, those that arrived before; gives how many. */
  dropBefore(arrivalNs: number): number {
    let count = 0;
    while (count < this.length && this.#arrivalNs[count] < arrivalNs) count += 1;
    if (count === 0) return 0;
    for (const column of [this.#arrivalNs, this.#adapterMs, this.#segment]) column.copyWithin(0, count, this.length);
    this.length -= count;
    return count;
  }

  /** All rows: a copy, or a view that is good until `dropBefore`. */
  times(how: "copied" | "viewed"): FrameTimes {
    const rows = <C extends Float64Array | Uint16Array>(column: C) =>
      (how === "copied" ? column.slice(0, this.length) : column.subarray(0, this.length)) as C;
    return { arrivalNs: rows(this.#arrivalNs), adapterMs: rows(this.#adapterMs), clockSegment: rows(this.#segment) };
  }

  #grow(): void {
    this.capacity = Math.ceil(this.length * GROWTH);
    this.#arrivalNs = widened(this.#arrivalNs, this.capacity);
    this.#adapterMs = widened(this.#adapterMs, this.capacity);
    const segment = new Uint16Array(this.capacity);
    segment.set(this.#segment);
    this.#segment = segment;
  }
}

export function widened(from: Float64Array, capacity: number): Float64Array<ArrayBuffer> {
  const to = new Float64Array(capacity);
  to.set(from);
  return to;
}
