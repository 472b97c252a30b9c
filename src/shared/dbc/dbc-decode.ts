/**
 * Decodes frames by signal files. Left out: signals beyond the end of a short frame, branches that their multiplexor does not select,
 * everything in a remote frame. Never fails on any frame. Of two messages with one id the later definition counts.
 */
import { byWord } from "../kernel/by-word.ts";
import { FRAME_EXTENDED, FRAME_REMOTE, type FrameBatch } from "../frames/frame-batch.ts";
import type { DbcFile, DbcMessage, DbcSignal } from "./dbc-model.ts";
import { type BitPlace, bitPlaceOf, rawBigInt, rawNumber } from "./signal-bits.ts";

/** A signal ready to decode. */
export interface SignalDecoder {
  /** "Message.Signal". */
  readonly name: string;
  readonly message: DbcMessage;
  readonly signal: DbcSignal;
  readonly place: BitPlace;
  /** The multiplexor that selects this signal; null where the signal is always present. */
  readonly selector: SignalDecoder | null;
}

interface MessageDecoder {
  readonly message: DbcMessage;
  readonly signals: readonly SignalDecoder[];
}

/** All signal files of a set-up, ready to decode. */
export interface SignalDatabase {
  readonly files: readonly DbcFile[];
  /** Every message, also those hidden by a later one with the same id. */
  readonly messages: readonly MessageDecoder[];
  /** The message definition used for frames with this id. */
  find(id: number, extended: boolean): MessageDecoder | undefined;
}

/** Compiles the files; later files and later definitions win where an id comes twice. */
export function createSignalDatabase(files: readonly DbcFile[]): SignalDatabase {
  const messages = files.flatMap((file) => file.messages.map(compileMessage));
  const byKey = new Map(messages.map((one) => [frameKey(one.message.id, one.message.extended), one]));
  return { files, messages, find: (id, extended) => byKey.get(frameKey(id, extended)) };
}

/** One number for an id and its kind: ids have at most 29 bits. */
function frameKey(id: number, extended: boolean): number {
  return extended ? id + 0x20000000 : id;
}

/** Whether this frame (of the signal's message) carries the signal. */
export function isPresent(decoder: SignalDecoder, batch: FrameBatch, row: number): boolean {
  if (decoder.place.lastByte >= batch.byteLength[row]) return false;
  const mux = decoder.signal.mux;
  if (mux === null) return true;
  if (decoder.selector === null || !isPresent(decoder.selector, batch, row)) return false;
  const selected = rawNumber(decoder.selector.place, batch, row);
  for (const [low, high] of mux.ranges) if (selected >= low && selected <= high) return true;
  return false;
}

/** The physical value as a number, for a frame that carries the signal: raw x factor + offset. */
export function physicalValue(decoder: SignalDecoder, batch: FrameBatch, row: number): number {
  return rawNumber(decoder.place, batch, row) * decoder.signal.factor + decoder.signal.offset;
}

/** The physical value for JSON: integers beyond 2^53 and non-finite numbers as strings. */
function exactValue(decoder: SignalDecoder, batch: FrameBatch, row: number): number | string {
  const { place, signal } = decoder;
  if (place.bitLength > 32 && !place.float && Number.isSafeInteger(signal.factor) && Number.isSafeInteger(signal.offset)) {
    const value = rawBigInt(place, batch, row) * BigInt(signal.factor) + BigInt(signal.offset);
    const rounded = Number(value);
    return Number.isSafeInteger(rounded) ? rounded : String(value);
  }
  const value = physicalValue(decoder, batch, row);
  if (Number.isFinite(value)) return value;
  return Number.isNaN(value) ? "nan" : value > 0 ? "inf" : "-inf";
}

/** The signal's text for this frame's raw value, if the file gives one. */
export function labelOf(decoder: SignalDecoder, batch: FrameBatch, row: number): string | undefined {
  return decoder.signal.labels.size === 0 ? undefined : decoder.signal.labels.get(rawNumber(decoder.place, batch, row));
}

/** One line of the `decode` command. */
export interface DecodedFrame {
  /** The log's own time in seconds; null if the line had none. */
  readonly t: number | null;
  readonly id: number;
  readonly extended: boolean;
  readonly message: string | null;
  readonly signals: Record<string, number | string>;
  readonly text: Record<string, string>;
}

/** Everything the files say of one frame. */
export function decodeFrame(database: SignalDatabase, batch: FrameBatch, row: number): DecodedFrame {
  const id = batch.id[row];
  const extended = (batch.flags[row] & FRAME_EXTENDED) !== 0;
  const found = database.find(id, extended);
  const signals = byWord<number | string>();
  const text = byWord<string>();
  if (found !== undefined && (batch.flags[row] & FRAME_REMOTE) === 0) {
    for (const decoder of found.signals) {
      if (!isPresent(decoder, batch, row)) continue;
      signals[decoder.signal.name] = exactValue(decoder, batch, row);
      const label = labelOf(decoder, batch, row);
      if (label !== undefined) text[decoder.signal.name] = label;
    }
  }
  const stampMs = batch.stampMs[row];
  // The stamp holds whole microseconds; a plain division would print its rounding error.
  const t = Number.isNaN(stampMs) ? null : Math.round(stampMs * 1000) / 1e6;
  return { t, id, extended, message: found?.message.name ?? null, signals, text };
}

/** Multiplexors under multiplexors; two are common. */
const MOST_NESTED = 16;

function compileMessage(message: DbcMessage): MessageDecoder {
  const compiled = new Map<string, SignalDecoder>();
  const named = new Map<string, DbcSignal>();
  for (const signal of message.signals) if (!named.has(signal.name)) named.set(signal.name, signal);
  const compile = (signal: DbcSignal, depth: number): SignalDecoder => {
    const known = compiled.get(signal.name);
    if (known !== undefined) return known;
    const mux = signal.mux;
    // Multiplexors that select each other in a circle can never select anything, so the circle is cut and its signals stay absent. So is a
    // chain deeper than any real bus has.
    const selector = mux === null || depth === MOST_NESTED ? undefined : named.get(mux.selector);
    const decoder: SignalDecoder = {
      name: `${message.name}.${signal.name}`,
      message,
      signal,
      place: bitPlaceOf(signal),
      selector: selector === undefined ? null : compile(selector, depth + 1),
    };
    compiled.set(signal.name, decoder);
    return decoder;
  };
  return { message, signals: message.signals.map((signal) => compile(signal, 0)) };
}
