/** Where a signal's bits lie in a frame. Pure arithmetic on start bit, length and byte order. */
import type { DbcSignal } from "./dbc-model.ts";

type Placed = Pick<DbcSignal, "startBit" | "bitLength" | "order">;

/**
 * Place of the least significant bit, counted in the direction of the byte order: Intel from bit 0 of byte 0 upwards; Motorola from the
 * most significant bit of byte 0 onwards.
 */
export function firstBitOf({ startBit, order }: Placed): number {
  return order === "intel" ? startBit : (startBit & ~7) + (7 - (startBit & 7));
}

/** Index of the last data byte the signal needs. */
export function lastByteOf(signal: Placed): number {
  return (firstBitOf(signal) + signal.bitLength - 1) >> 3;
}

/** Frame bits the signal covers: 8 x byte + bit, bit 0 least significant. */
export function bitsOf(signal: Placed): number[] {
  const first = firstBitOf(signal);
  return Array.from({ length: signal.bitLength }, (_, k) =>
    signal.order === "intel" ? first + k : ((first + k) & ~7) + (7 - ((first + k) & 7)),
  );
}
