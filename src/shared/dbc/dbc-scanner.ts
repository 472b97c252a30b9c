/**
 * Reads the words, numbers, strings and marks of a signal file, skipping blanks and comments and keeping the line.
 * What is not there throws DbcError with file, line, what was expected and what came.
 */
import { DbcError } from "./dbc-model.ts";

const WORD = /[^\s:;,|@()[\]"]+/y;
const NUMBER = /[+-]?(?:0[xX][0-9a-fA-F]+|(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?|(?:nan|inf(?:inity)?)\b)/iy;
const BLANK = /(?:\s+|\/\/[^\n]*|\/\*[\s\S]*?\*\/)+/y;
const LINE_REST = /[^\S\n]*(?:\/\/[^\n]*)?(?:\n|$)/y;

export class DbcScanner {
  readonly file: string;
  readonly #text: string;
  #at = 0;
  #lineAt = 0;
  #line = 1;

  constructor(file: string, text: string) {
    this.file = file;
    this.#text = text;
    this.#skip();
  }

  /** Line of what comes next, counted from 1. */
  get line(): number {
    for (let i = this.#text.indexOf("\n", this.#lineAt); i >= 0 && i < this.#at; i = this.#text.indexOf("\n", i + 1)) {
      this.#line += 1;
      this.#lineAt = i + 1;
    }
    return this.#line;
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

  /** Whether this mark comes next; nothing is taken. */
  peeks(mark: string): boolean {
    return this.#text.startsWith(mark, this.#at);
  }

  word(what: string): string {
    const found = this.#match(WORD);
    if (found === null) throw this.expected(what);
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
    let text = "";
    for (let i = this.#at + 1; i < this.#text.length; i++) {
      const letter = this.#text[i];
      if (letter === '"') {
        this.#take(i + 1 - this.#at);
        return text;
      }
      if (letter === "\\" && (this.#text[i + 1] === '"' || this.#text[i + 1] === "\\")) i += 1;
      text += this.#text[i];
    }
    throw new DbcError(this.file, this.line, `expected the closing " of ${what}, got the end of the file`);
  }

  mark(mark: string, what: string): void {
    if (!this.takes(mark)) throw this.expected(`"${mark}" ${what}`);
  }

  /** Takes the mark if it comes next. */
  takes(mark: string): boolean {
    if (!this.peeks(mark)) return false;
    this.#take(mark.length);
    return true;
  }

  /** Passes over the rest of a statement, its ";" included. */
  skipStatement(what: string): void {
    const line = this.line;
    while (!this.takes(";")) {
      if (this.atEnd) throw new DbcError(this.file, line, `expected ";" at the end of ${what}, got the end of the file`);
      if (this.peeks('"')) this.string(what);
      else this.#take(this.#match(WORD)?.length ?? 1);
    }
  }

  /** The error for a word already taken that was not what it had to be. */
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
    // Only an unclosed comment is left standing; going on would search the rest of the file for its end at every word.
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
