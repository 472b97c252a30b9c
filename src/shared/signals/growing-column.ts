/** Typed columns of equal length that double as they grow and can drop their oldest rows. Snapshots are copies. */

export class GrowingColumns {
  length = 0;
  readonly #numbers: Float64Array[];
  #segments: Uint16Array;
  #capacity = 256;

  /** `count` columns of numbers beside one of clock segments. */
  constructor(count: number) {
    this.#numbers = Array.from({ length: count }, () => new Float64Array(this.#capacity));
    this.#segments = new Uint16Array(this.#capacity);
  }

  /** Adds an empty row and returns its index. */
  addRow(): number {
    if (this.length === this.#capacity) {
      this.#capacity *= 2;
      this.#numbers.forEach((column, k) => {
        const wider = new Float64Array(this.#capacity);
        wider.set(column);
        this.#numbers[k] = wider;
      });
      const segments = new Uint16Array(this.#capacity);
      segments.set(this.#segments);
      this.#segments = segments;
    }
    this.length += 1;
    return this.length - 1;
  }

  set(column: number, row: number, value: number): void {
    this.#numbers[column][row] = value;
  }

  setSegment(row: number, segment: number): void {
    this.#segments[row] = segment;
  }

  at(column: number, row: number): number {
    return this.#numbers[column][row];
  }

  segmentAt(row: number): number {
    return this.#segments[row];
  }

  /** Drops the leading rows whose value in `column` is under `least`. */
  dropBelow(column: number, least: number): void {
    let count = 0;
    while (count < this.length && this.#numbers[column][count] < least) count += 1;
    if (count === 0) return;
    for (const one of this.#numbers) one.copyWithin(0, count, this.length);
    this.#segments.copyWithin(0, count, this.length);
    this.length -= count;
  }

  copy(column: number): Float64Array {
    return this.#numbers[column].slice(0, this.length);
  }

  copySegments(): Uint16Array {
    return this.#segments.slice(0, this.length);
  }
}
