/** Reads an SLCAN adapter's answers and reports, which are not frames. A line of no known form gives null. */
import { readHex } from "./hex-digit.ts";

/** Bits of the `F` answer (adapter command sheet; docs/check-values.md, SLCAN). */
interface SlcanStatus {
  readonly receiveFull: boolean;
  readonly transmitFull: boolean;
  readonly errorWarning: boolean;
  readonly dataOverrun: boolean;
  readonly errorPassive: boolean;
  readonly arbitrationLost: boolean;
  readonly busError: boolean;
}

type SlcanBusState = "active" | "warning" | "passive" | "bus off";

export type SlcanReply =
  | { readonly kind: "ok" }
  | { readonly kind: "refused" }
  | { readonly kind: "version"; readonly text: string }
  | { readonly kind: "serialNumber"; readonly text: string }
  | { readonly kind: "status"; readonly status: SlcanStatus }
  | { readonly kind: "busState"; readonly state: SlcanBusState; readonly receiveErrors: number; readonly transmitErrors: number }
  | { readonly kind: "busErrors"; readonly errors: readonly string[] };

const BUS_STATES: Readonly<Record<string, SlcanBusState>> = { a: "active", w: "warning", p: "passive", b: "bus off" };
const BUS_ERRORS: Readonly<Record<string, string>> = {
  a: "no acknowledgement",
  b: "bit 0",
  B: "bit 1",
  c: "checksum",
  f: "form",
  o: "receive overrun",
  O: "transmit overrun",
  s: "stuffing",
};

/** Reads one whole line without its end. Pure; never throws. */
export function readSlcanReply(bytes: Uint8Array, from: number, to: number): SlcanReply | null {
  const text = printable(bytes, from, to);
  if (text === null) return null;
  switch (text[0]) {
    case "V":
      return { kind: "version", text: text.slice(1) };
    case "N":
      return { kind: "serialNumber", text: text.slice(1) };
    case "F":
      return text.length === 3 && readHex(bytes, from + 1, 2) >= 0
        ? { kind: "status", status: statusOf(readHex(bytes, from + 1, 2)) }
        : null;
    case "s": {
      const match = /^s([awpb])(\d{3})(\d{3})$/.exec(text);
      if (match === null) return null;
      return { kind: "busState", state: BUS_STATES[match[1]], receiveErrors: Number(match[2]), transmitErrors: Number(match[3]) };
    }
    case "e": {
      const match = /^e([1-9])([abBcfoOs]+)$/.exec(text);
      if (match === null || match[2].length !== Number(match[1])) return null;
      return { kind: "busErrors", errors: Array.from(match[2], (letter) => BUS_ERRORS[letter]) };
    }
    default:
      return null;
  }
}

function statusOf(bits: number): SlcanStatus {
  const has = (bit: number) => (bits & (1 << bit)) !== 0;
  return {
    receiveFull: has(0),
    transmitFull: has(1),
    errorWarning: has(2),
    dataOverrun: has(3),
    errorPassive: has(5),
    arbitrationLost: has(6),
    busError: has(7),
  };
}

function printable(bytes: Uint8Array, from: number, to: number): string | null {
  let text = "";
  for (let i = from; i < to; i++) {
    if (bytes[i] < 0x20 || bytes[i] > 0x7e) return null;
    text += String.fromCharCode(bytes[i]);
  }
  return text;
}
