/** What a signal file (DBC) describes: messages, their signals, and warnings for people. */

/** A signal file that cannot be read; the message is `file:line: expected ..., got ...`. */
export class DbcError extends Error {
  override readonly name = "DbcError";
  readonly file: string;
  /** Counted from 1. */
  readonly line: number;
  constructor(file: string, line: number, problem: string) {
    super(`${file}:${line}: ${problem}`);
    this.file = file;
    this.line = line;
  }
}

/** Which raw values of another signal in the message make this one present: inclusive ranges. */
export interface MuxCondition {
  readonly selector: string;
  readonly ranges: readonly (readonly [number, number])[];
}

export interface DbcSignal {
  readonly name: string;
  /** Line in the file, counted from 1. */
  readonly line: number;
  /** As written: Intel counts from the least significant bit, Motorola names the most significant one. */
  readonly startBit: number;
  readonly bitLength: number;
  readonly order: "intel" | "motorola";
  readonly signed: boolean;
  readonly kind: "integer" | "float";
  readonly factor: number;
  readonly offset: number;
  readonly min: number;
  readonly max: number;
  readonly unit: string;
  /** True for a multiplexor: its value selects branches of the message. */
  readonly multiplexor: boolean;
  /** Null where the signal is always present. */
  readonly mux: MuxCondition | null;
  /** Texts of raw values. */
  readonly labels: ReadonlyMap<number, string>;
  readonly comment: string;
}

export interface DbcMessage {
  readonly name: string;
  /** Line in the file, counted from 1. */
  readonly line: number;
  /** The identifier without the file's extended bit. */
  readonly id: number;
  readonly extended: boolean;
  readonly byteLength: number;
  readonly comment: string;
  /** From the attribute GenMsgCycleTime; null where not given. */
  readonly cycleMs: number | null;
  readonly signals: readonly DbcSignal[];
}

export interface DbcFile {
  readonly file: string;
  readonly messages: readonly DbcMessage[];
  /** Readable but odd: `file:line: ...`, one line each. */
  readonly warnings: readonly string[];
}
