/**
 * Extracts a signal's bits from a frame: two 32-bit words and a shift computed beforehand; BigInt only over 32 bits. Never throws. The
 * caller checks that the frame is long enough (`lastByte`).
 */
import type { FrameBatch } from "../frames/frame-batch.ts";
import { firstBitOf, lastByteOf } from "./dbc-bits.ts";
import type { DbcSignal } from "./dbc-model.ts";

/** One row of the shift table. */
export interface BitPlace {
  readonly intel: boolean;
  readonly bitLength: number;
  readonly signed: boolean;
  readonly float: boolean;
  /** From the least significant bit of the eight-byte word (Intel: bytes reversed) down to bit 0. */
  readonly shift: number;
  readonly mask: number;
  readonly firstByte: number;
  readonly lastByte: number;
}

/** Computes where the signal lies. */
export function bitPlaceOf(signal: DbcSignal): BitPlace {
  const first = firstBitOf(signal);
  const intel = signal.order === "intel";
  return {
    intel,
    bitLength: signal.bitLength,
    signed: signal.signed,
    float: signal.kind === "float",
    shift: intel ? first : 64 - first - signal.bitLength,
    mask: signal.bitLength >= 32 ? 0xffffffff : (1 << signal.bitLength) - 1,
    firstByte: first >> 3,
    lastByte: lastByteOf(signal),
  };
}

const floatBytes = new DataView(new ArrayBuffer(8));

/** The raw value as a number: exact to 53 bits, floats as they are. */
export function rawNumber(place: BitPlace, batch: FrameBatch, row: number): number {
  if (place.bitLength > 32) {
    const wide = rawBigInt(place, batch, row);
    if (!place.float) return Number(wide);
    floatBytes.setBigUint64(0, wide);
    return floatBytes.getFloat64(0);
  }
  const bits = rawBits(place, batch, row);
  if (place.float) return asFloat(bits, place.bitLength);
  if (!place.signed) return bits >>> 0;
  const up = 32 - place.bitLength;
  return (bits << up) >> up;
}

/** The raw integer in full; for a 64-bit float its bits. */
export function rawBigInt(place: BitPlace, batch: FrameBatch, row: number): bigint {
  let value = 0n;
  if (place.intel) {
    for (let at = place.lastByte; at >= place.firstByte; at--) value = (value << 8n) | BigInt(batch.byteAt(row, at));
    value >>= BigInt(place.shift & 7);
  } else {
    for (let at = place.firstByte; at <= place.lastByte; at++) value = (value << 8n) | BigInt(batch.byteAt(row, at));
    value >>= BigInt(place.shift & 7);
  }
  return place.signed && !place.float ? BigInt.asIntN(place.bitLength, value) : BigInt.asUintN(place.bitLength, value);
}

/** The signal's bits, moved to the bottom of a 32-bit number; for up to 32 bits. */
function rawBits(place: BitPlace, batch: FrameBatch, row: number): number {
  let low: number;
  let high: number;
  let shift = place.shift;
  if (place.lastByte > 7) {
    low = place.intel ? littleEndian(batch, row, place.firstByte) : bigEndian(batch, row, place.lastByte);
    high = place.intel ? littleEndian(batch, row, place.firstByte + 4) : bigEndian(batch, row, place.lastByte - 4);
    shift &= 7;
  } else if (place.intel) {
    low = swapped(batch.word0[row]);
    high = swapped(batch.word1[row]);
  } else {
    low = batch.word1[row];
    high = batch.word0[row];
  }
  if (shift >= 32) return (high >>> (shift - 32)) & place.mask;
  const bits = low >>> shift;
  return (shift + place.bitLength > 32 ? bits | (high << (32 - shift)) : bits) & place.mask;
}

function swapped(word: number): number {
  return (word << 24) | ((word & 0xff00) << 8) | ((word >>> 8) & 0xff00) | (word >>> 24);
}

function littleEndian(batch: FrameBatch, row: number, from: number): number {
  return (
    batch.byteAt(row, from) | (batch.byteAt(row, from + 1) << 8) | (batch.byteAt(row, from + 2) << 16) | (batch.byteAt(row, from + 3) << 24)
  );
}

/** Four bytes, most significant first; the last one has index `to`. */
function bigEndian(batch: FrameBatch, row: number, to: number): number {
  return batch.byteAt(row, to) | (batch.byteAt(row, to - 1) << 8) | (batch.byteAt(row, to - 2) << 16) | (batch.byteAt(row, to - 3) << 24);
}

/** IEEE 754 half and single precision from their bits. */
function asFloat(bits: number, bitLength: number): number {
  if (bitLength === 32) {
    floatBytes.setInt32(0, bits);
    return floatBytes.getFloat32(0);
  }
  const exponent = (bits >>> 10) & 0x1f;
  const fraction = bits & 0x3ff;
  const sign = bits & 0x8000 ? -1 : 1;
  if (exponent === 0x1f) return fraction === 0 ? sign * Infinity : Number.NaN;
  return sign * (exponent === 0 ? fraction * 2 ** -24 : (1 + fraction / 1024) * 2 ** (exponent - 15));
}
