/** Messages and signals while their file is being read, and how they are completed at its end. Pure. */
import type { DbcMessage, DbcSignal, MuxCondition } from "./dbc-model.ts";

type Draft<T> = { -readonly [key in keyof T]: T[key] };

export interface SignalDraft extends Draft<Omit<DbcSignal, "mux" | "labels">> {
  labels: Map<number, string>;
  /** Value after m in the SG_ line. */
  branch: number | null;
  /** From SG_MUL_VAL_. */
  extendedMux: MuxCondition | null;
  longName?: string;
}

export interface MessageDraft extends Draft<Omit<DbcMessage, "signals">> {
  /** By name, in the file's order. */
  signals: Map<string, SignalDraft>;
  longName?: string;
}

/** Gives long names, ties branches to their multiplexors and leaves out signals that cannot be read (with a warning). */
export function finishMessages(drafts: readonly MessageDraft[], warn: (line: number, problem: string) => void): DbcMessage[] {
  return drafts.map(({ longName, signals, ...message }) => {
    const readable = [...signals.values()].filter((signal) => isReadable(signal, message.name, warn));
    const all: Siblings = {
      named: new Map(readable.map((signal) => [signal.name, signal])),
      selectors: readable.filter((signal) => signal.multiplexor && signal.branch === null && signal.extendedMux === null),
    };
    return { ...message, name: longName ?? message.name, signals: readable.map((signal) => finishSignal(signal, all, warn)) };
  });
}

/** The other signals of one message, by which a branch finds its multiplexor. */
interface Siblings {
  readonly named: ReadonlyMap<string, SignalDraft>;
  /** Multiplexors that are not selected by another one. */
  readonly selectors: readonly SignalDraft[];
}

function finishSignal(draft: SignalDraft, all: Siblings, warn: (line: number, problem: string) => void): DbcSignal {
  const { longName, branch, extendedMux, ...signal } = draft;
  let mux: MuxCondition | null = null;
  // SG_MUL_VAL_ overrides the mark in the SG_ line: a plain M can be selected by another multiplexor (multiplex_2_dumped.dbc).
  if (extendedMux !== null && extendedMux.selector !== draft.name) {
    const selector = all.named.get(extendedMux.selector);
    if (selector === undefined)
      warn(
        draft.line,
        `signal ${draft.name} hangs on multiplexor ${extendedMux.selector}, which its message does not have; it is never shown`,
      );
    mux = { selector: selector?.longName ?? extendedMux.selector, ranges: extendedMux.ranges };
  } else if (branch !== null) {
    const { selectors } = all;
    if (selectors.length === 0)
      warn(draft.line, `signal ${draft.name} belongs to a multiplexor branch, but its message has no multiplexor; it is never shown`);
    if (selectors.length > 1)
      warn(
        draft.line,
        `signal ${draft.name} has two multiplexors to choose from and no SG_MUL_VAL_; taken as a branch of ${selectors[0].name}`,
      );
    mux = { selector: selectors[0]?.longName ?? selectors[0]?.name ?? "", ranges: [[branch, branch]] };
  }
  return { ...signal, name: longName ?? signal.name, mux };
}

function isReadable(signal: SignalDraft, message: string, warn: (line: number, problem: string) => void): boolean {
  const { name, line, bitLength, startBit, kind } = signal;
  const whole = Number.isInteger(bitLength) && Number.isInteger(startBit) && startBit >= 0 && startBit < 512;
  if (!whole || bitLength < 1 || bitLength > 64) {
    warn(
      line,
      `signal ${message}.${name} has start bit ${startBit} and ${bitLength} bits; expected a start bit from 0 to 511 and 1 to 64 bits; it is left out`,
    );
    return false;
  }
  if (kind === "float" && bitLength !== 16 && bitLength !== 32 && bitLength !== 64) {
    warn(line, `signal ${message}.${name} is a float of ${bitLength} bits; expected 16, 32 or 64; it is left out`);
    return false;
  }
  return true;
}
