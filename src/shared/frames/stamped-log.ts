/**
 * Splits a text log into lines with their arrival stamp, `(sec.micros) rest`. Chunks may end anywhere; line ends are CR LF or LF. Lines
 * without a stamp have `stamped` false. A malformed stamp or a line over 4,096 bytes throws LogLineError with the line's number: such a
 * file is no log. Empty lines are skipped.
 */
import { CLOSE, CR, DOT, LF, OPEN, SPACE } from "../kernel/ascii.ts";

const LONGEST_LINE = 4096;
/** Editors write it before the first line of a UTF-8 text; it is not part of the text (RFC 3629, section 6). */
const BYTE_ORDER_MARK = [0xef, 0xbb, 0xbf];
const MOST_SECOND_DIGITS = 12;
const MOST_FRACTION_DIGITS = 9;

/**
 * A line that cannot be read. The message names the line and what was expected. It does not quote the line, as the file may be any file.
 */
export class LogLineError extends Error {
  override readonly name = "LogLineError";
  /** Counted from 1. */
  readonly line: number;
  constructor(line: number, problem: string) {
    super(`line ${line}: ${problem}`);
    this.line = line;
  }
}

/** One line. The object is reused for the next line, so copy what you need. */
export interface LogLine {
  /** Counted from 1. */
  line: number;
  stamped: boolean;
  /** Whole seconds of the stamp; 0 if none. */
  seconds: number;
  /** Microseconds within the second, 0 to 999,999 (finer digits are cut off); 0 if none. */
  micros: number;
  /** What follows the stamp and one space, without the line end. A view: valid until the next line only. */
  rest: Uint8Array;
}

export interface StampedLogSplitter {
  push(bytes: Uint8Array, emit: (line: LogLine) => void): void;
  /** Reads a last line that has no line end. */
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
      at = this.#readStamp(bytes, from + 1, to);
      if (at < to && bytes[at] === SPACE) at += 1;
    }
    out.rest = bytes.subarray(at, to);
    emit(out);
  }

  /** Digits one by one, as a log has millions of lines: a text and an expression for each would take half the time of an import. Gives where the line goes on. */
  #readStamp(bytes: Uint8Array, begin: number, to: number): number {
    const out = this.#out;
    // Not a digit: below 0 or above 9.
    const digitAt = (at: number) => (at < to ? bytes[at] - 0x30 : -1);
    let at = begin;
    for (let digit = digitAt(at); digit >= 0 && digit <= 9; digit = digitAt(++at)) out.seconds = out.seconds * 10 + digit;
    let fits = at > begin && at - begin <= MOST_SECOND_DIGITS;
    if (fits && bytes[at] === DOT) {
      const first = ++at;
      let worth = 100_000;
      for (let digit = digitAt(at); digit >= 0 && digit <= 9; digit = digitAt(++at), worth = Math.floor(worth / 10))
        out.micros += digit * worth;
      fits = at > first && at - first <= MOST_FRACTION_DIGITS;
    }
    if (!fits || at >= to || bytes[at] !== CLOSE)
      throw new LogLineError(out.line, "expected an arrival stamp like (1436509052.249713) after its bracket");
    return at + 1;
  }
}
