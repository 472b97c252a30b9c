/**
 * A growable batch of CAN frames stored as columns, without an object for each frame. The consumer clears it. Rows beyond `length` hold old
 * values and give no error, so loops must stop at `length`.
 */
export const FRAME_EXTENDED = 1;
export const FRAME_REMOTE = 2;
export const FRAME_FD = 4;

/** Bytes for each data length code of a CAN FD frame (ISO 11898-1); the first nine hold for classic frames too. */
export const FD_LENGTHS: readonly number[] = [0, 1, 2, 3, 4, 5, 6, 7, 8, 12, 16, 20, 24, 32, 48, 64];

/** All columns have the same capacity; only the first `length` rows count. */
export class FrameBatch {
  length = 0;
  /** Arrival of the packet that held the frame's first byte, ns on the recording's base. */
  arrivalNs: Float64Array;
  /** The stamp as sent, ms: an adapter's counter, or a log line's time since 1970; NaN if none. */
  stampMs: Float64Array;
  /** Adapter stamp unwrapped, ms; NaN if none. */
  adapterMs: Float64Array;
  /** Number of the adapter clock's segment that `adapterMs` belongs to; a restarted clock begins a new one. */
  clockSegment: Uint16Array;
  /** Identifier without any flag bit. */
  id: Uint32Array;
  /** Sum of FRAME_EXTENDED, FRAME_REMOTE, FRAME_FD. */
  flags: Uint8Array;
  /** Data length code as sent, 0 to 15. */
  dlc: Uint8Array;
  /** Data bytes carried: 0 for a remote frame. */
  byteLength: Uint8Array;
  /** Data bytes 0 to 3, byte 0 in the top eight bits; bytes beyond the frame are 0. */
  word0: Uint32Array;
  /** Data bytes 4 to 7 in the same way. */
  word1: Uint32Array;
  /** Where a frame over 8 bytes lies in `pool`; -1 for all others. */
  poolStart: Int32Array;
  /** Data of the frames over 8 bytes; only the first `poolLength` bytes count. */
  pool: Uint8Array = new Uint8Array(0);
  poolLength = 0;
  #capacity: number;

  constructor(capacity = 1024) {
    this.#capacity = Math.max(1, capacity);
    this.arrivalNs = new Float64Array(this.#capacity);
    this.stampMs = new Float64Array(this.#capacity);
    this.adapterMs = new Float64Array(this.#capacity);
    this.clockSegment = new Uint16Array(this.#capacity);
    this.id = new Uint32Array(this.#capacity);
    this.flags = new Uint8Array(this.#capacity);
    this.dlc = new Uint8Array(this.#capacity);
    this.byteLength = new Uint8Array(this.#capacity);
    this.word0 = new Uint32Array(this.#capacity);
    this.word1 = new Uint32Array(this.#capacity);
    this.poolStart = new Int32Array(this.#capacity);
  }

  /** Forgets all frames; the memory is kept and reused. */
  clear(): void {
    this.length = 0;
    this.poolLength = 0;
  }

  /** Adds an empty row and returns its index; the caller fills every column. */
  addRow(): number {
    if (this.length === this.#capacity) this.#grow();
    this.length += 1;
    return this.length - 1;
  }

  /** Room for `count` data bytes of a frame over 8 bytes; returns where they start. */
  addPool(count: number): number {
    const start = this.poolLength;
    if (start + count > this.pool.length) {
      const wider = new Uint8Array(Math.max(4096, this.pool.length * 2));
      wider.set(this.pool);
      this.pool = wider;
    }
    this.poolLength = start + count;
    return start;
  }

  /** One data byte of a frame, 0 beyond its end. */
  byteAt(row: number, index: number): number {
    if (index >= this.byteLength[row]) return 0;
    if (this.poolStart[row] >= 0) return this.pool[this.poolStart[row] + index];
    return index < 4 ? (this.word0[row] >>> (24 - 8 * index)) & 0xff : (this.word1[row] >>> (56 - 8 * index)) & 0xff;
  }

  #grow(): void {
    this.#capacity *= 2;
    const capacity = this.#capacity;
    this.arrivalNs = widened(this.arrivalNs, new Float64Array(capacity));
    this.stampMs = widened(this.stampMs, new Float64Array(capacity));
    this.adapterMs = widened(this.adapterMs, new Float64Array(capacity));
    this.clockSegment = widened(this.clockSegment, new Uint16Array(capacity));
    this.id = widened(this.id, new Uint32Array(capacity));
    this.flags = widened(this.flags, new Uint8Array(capacity));
    this.dlc = widened(this.dlc, new Uint8Array(capacity));
    this.byteLength = widened(this.byteLength, new Uint8Array(capacity));
    this.word0 = widened(this.word0, new Uint32Array(capacity));
    this.word1 = widened(this.word1, new Uint32Array(capacity));
    this.poolStart = widened(this.poolStart, new Int32Array(capacity));
  }
}

function widened<T extends { set(from: ArrayLike<number>): void }>(from: ArrayLike<number>, to: T): T {
  to.set(from);
  return to;
}
