/**
 * Splits a text log into lines with their arrival stamp, `(sec.micros) rest`, cut anywhere, CR LF or LF. Lines without
 * a stamp come with `stamped` false. A stamp that is not one throws LogLineError with the line's number; a line over
 * 4,096 bytes too: such a file is no log. Empty lines are passed over.
 */

const LF = 0x0a;
const CR = 0x0d;
const OPEN = 0x28;
const CLOSE = 0x29;
const SPACE = 0x20;
const LONGEST_LINE = 4096;
/** Editors put it before the first line of a text in UTF-8; it is no part of it (RFC 3629, section 6). */
const BYTE_ORDER_MARK = [0xef, 0xbb, 0xbf];
const STAMP = /^(\d{1,12})(?:\.(\d{1,9}))?$/;

/** A line that cannot be read; the message names the line and what was expected, not what stands there: it may be any file. */
export class LogLineError extends Error {
  override readonly name = "LogLineError";
  /** Counted from 1. */
  readonly line: number;
  constructor(line: number, problem: string) {
    super(`line ${line}: ${problem}`);
    this.line = line;
  }
}

/** One line; reused for the next one, so take what is needed before returning. */
export interface LogLine {
  /** Counted from 1. */
  line: number;
  stamped: boolean;
  /** Whole seconds of the stamp; 0 if none. */
  seconds: number;
  /** Microseconds within the second, 0 to 999,999 (finer digits are cut off); 0 if none. */
  micros: number;
  /** What follows the stamp and one space, without the line end: a view that is only good until the next line. */
  rest: Uint8Array;
}

export interface StampedLogSplitter {
  push(bytes: Uint8Array, emit: (line: LogLine) => void): void;
  /** Reads a last line without a line end. */
  flush(emit: (line: LogLine) => void): void;
}

/** A splitter at the beginning of a file. */
export function createStampedLogSplitter(): StampedLogSplitter {
  return new Splitter();
}

/** Microseconds between two stamps, exact for spans under 285 years. */
export function microsSince(line: Pick<LogLine, "seconds" | "micros">, origin: Pick<LogLine, "seconds" | "micros">): number {
  return (line.seconds - origin.seconds) * 1e6 + (line.micros - origin.micros);
}

class Splitter implements StampedLogSplitter {
  readonly #kept = new Uint8Array(LONGEST_LINE);
  #keptLength = 0;
  readonly #out: LogLine = { line: 0, stamped: false, seconds: 0, micros: 0, rest: new Uint8Array(0) };

  push(bytes: Uint8Array, emit: (line: LogLine) => void): void {
    let from = 0;
    for (let at = bytes.indexOf(LF); at >= 0; at = bytes.indexOf(LF, from)) {
      if (this.#keptLength > 0) {
        this.#keep(bytes, from, at);
        this.#endKept(emit);
      } else this.#read(bytes, from, at, emit);
      from = at + 1;
    }
    if (from < bytes.length) this.#keep(bytes, from, bytes.length);
  }

  flush(emit: (line: LogLine) => void): void {
    if (this.#keptLength > 0) this.#endKept(emit);
  }

  #endKept(emit: (line: LogLine) => void): void {
    const length = this.#keptLength;
    this.#keptLength = 0;
    this.#read(this.#kept, 0, length, emit);
  }

  #keep(bytes: Uint8Array, from: number, to: number): void {
    if (this.#keptLength + to - from > LONGEST_LINE) {
      throw new LogLineError(this.#out.line + 1, `expected a line of at most ${LONGEST_LINE} bytes, got a longer one; is this a text log?`);
    }
    this.#kept.set(bytes.subarray(from, to), this.#keptLength);
    this.#keptLength += to - from;
  }

  #read(bytes: Uint8Array, begin: number, lineEnd: number, emit: (line: LogLine) => void): void {
    const out = this.#out;
    out.line += 1;
    let from = begin;
    if (out.line === 1 && BYTE_ORDER_MARK.every((byte, i) => bytes[from + i] === byte)) from += BYTE_ORDER_MARK.length;
    let to = lineEnd;
    while (to > from && bytes[to - 1] === CR) to -= 1;
    if (to === from) return;
    out.stamped = bytes[from] === OPEN;
    out.seconds = 0;
    out.micros = 0;
    let at = from;
    if (out.stamped) {
      const close = bytes.subarray(from, Math.min(to, from + 32)).indexOf(CLOSE);
      const text = close < 0 ? "" : String.fromCharCode(...bytes.subarray(from + 1, from + close));
      const match = STAMP.exec(text);
      if (match === null) {
        throw new LogLineError(out.line, "expected an arrival stamp like (1436509052.249713) after its bracket");
      }
      out.seconds = Number(match[1]);
      out.micros = match[2] === undefined ? 0 : Number(match[2].slice(0, 6).padEnd(6, "0"));
      at = from + close + 1;
      if (at < to && bytes[at] === SPACE) at += 1;
    }
    out.rest = bytes.subarray(at, to);
    emit(out);
  }
}
