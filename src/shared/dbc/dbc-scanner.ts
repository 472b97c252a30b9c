/**
 * Reads the words, numbers, strings and marks of a signal file. Skips blanks and comments and counts lines. Anything unexpected throws
 * DbcError with file, line, what was expected and what came.
 */
import { DbcError } from "./dbc-model.ts";

const WORD = /[^\s:;,|@()[\]"]+/y;
const NUMBER = /[+-]?(?:0[xX][0-9a-fA-F]+|(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?|(?:nan|inf(?:inity)?)\b)/iy;
const QUOTE = 0x22;
const BACKSLASH = 0x5c;
const ESCAPED = /\\(["\\])/g;
const BLANK = /(?:\s+|\/\/[^\n]*|\/\*[\s\S]*?\*\/)+/y;
/** Names in a signal file are C identifiers of up to 128 letters; even long names of today's tools are shorter than this. */
const LONGEST_WORD = 300;
const LINE_REST = /[^\S\n]*(?:\/\/[^\n]*)?(?:\n|$)/y;

export class DbcScanner {
  readonly file: string;
  readonly #text: string;
  #at = 0;
  #line = 1;
  /** The next line end after the last position asked for. Kept, so that a very long line is searched only once. */
  #lineEnd: number;

  constructor(file: string, text: string) {
    this.file = file;
    this.#text = text;
    this.#lineEnd = this.#lineEndFrom(0);
    this.#skip();
  }

  /** Line of what comes next, counted from 1. */
  get line(): number {
    while (this.#lineEnd < this.#at) {
      this.#line += 1;
      this.#lineEnd = this.#lineEndFrom(this.#lineEnd + 1);
    }
    return this.#line;
  }

  #lineEndFrom(at: number): number {
    const found = this.#text.indexOf("\n", at);
    return found < 0 ? this.#text.length : found;
  }

  get atEnd(): boolean {
    return this.#at >= this.#text.length;
  }

  /** True if the word that comes next is followed by nothing on its line. */
  get wordIsAloneOnLine(): boolean {
    LINE_REST.lastIndex = this.#at + (this.#match(WORD)?.length ?? 0);
    return LINE_REST.test(this.#text);
  }

  peekWord(): string | null {
    return this.#match(WORD);
  }

  /** Whether this mark comes next; it is not consumed. */
  peeks(mark: string): boolean {
    return this.#text.startsWith(mark, this.#at);
  }

  word(what: string): string {
    const found = this.#match(WORD);
    if (found === null) throw this.expected(what);
    if (found.length > LONGEST_WORD)
      throw new DbcError(this.file, this.line, `expected ${what} of at most ${LONGEST_WORD} letters, got ${found.length}`);
    this.#take(found.length);
    return found;
  }

  number(what: string): number {
    const found = this.#match(NUMBER);
    if (found === null) throw this.expected(what);
    this.#take(found.length);
    return asNumber(found);
  }

  string(what: string): string {
    if (!this.peeks('"')) throw this.expected(what);
    for (let end = this.#at + 1; end < this.#text.length; end += 1) {
      const sign = this.#text.charCodeAt(end);
      if (sign === QUOTE) {
        const text = this.#text.slice(this.#at + 1, end);
        this.#take(end + 1 - this.#at);
        return text.includes("\\") ? text.replace(ESCAPED, "$1") : text;
      }
      const next = this.#text.charCodeAt(end + 1);
      if (sign === BACKSLASH && (next === QUOTE || next === BACKSLASH)) end += 1;
    }
    throw new DbcError(this.file, this.line, `expected the closing " of ${what}, got the end of the file`);
  }

  mark(mark: string, what: string): void {
    if (!this.takes(mark)) throw this.expected(`"${mark}" ${what}`);
  }

  /** Consumes the mark if it comes next. */
  takes(mark: string): boolean {
    if (!this.peeks(mark)) return false;
    this.#take(mark.length);
    return true;
  }

  /** Skips the rest of a statement, its ";" included. */
  skipStatement(what: string): void {
    const line = this.line;
    while (!this.takes(";")) {
      if (this.atEnd) throw new DbcError(this.file, line, `expected ";" at the end of ${what}, got the end of the file`);
      if (this.peeks('"')) this.string(what);
      else this.#take(this.#match(WORD)?.length ?? 1);
    }
  }

  /** The error for a word already read that was not the expected one. */
  wrongWord(what: string, got: string, line: number): DbcError {
    return new DbcError(this.file, line, `expected ${what}, got ${JSON.stringify(got)}`);
  }

  /** The error for what comes next. */
  expected(what: string): DbcError {
    const rest = this.#text.slice(this.#at, this.#at + 24).split(/[\r\n]/)[0];
    return new DbcError(this.file, this.line, `expected ${what}, got ${this.atEnd ? "the end of the file" : JSON.stringify(rest)}`);
  }

  #match(pattern: RegExp): string | null {
    pattern.lastIndex = this.#at;
    return pattern.exec(this.#text)?.[0] ?? null;
  }

  #take(length: number): void {
    this.#at += length;
    this.#skip();
  }

  #skip(): void {
    this.#at += this.#match(BLANK)?.length ?? 0;
    // Only an unclosed comment is left here. Going on would search to the end of the file at every word.
    if (this.peeks("/*")) throw new DbcError(this.file, this.line, "expected */ at the end of this comment, got the end of the file");
  }
}

function asNumber(text: string): number {
  const lower = text.toLowerCase();
  const sign = lower.startsWith("-") ? -1 : 1;
  const bare = lower.replace(/^[+-]/, "");
  if (bare.startsWith("inf")) return sign * Infinity;
  return bare === "nan" ? Number.NaN : sign * Number(bare);
}
