/**
 * Reads a signal file (DBC) from its text. A doubtful value gives a warning with file and line. What cannot be read throws DbcError,
 * `file:line: expected X, got Y`. If the file is no signal file at all, the error quotes nothing of it. Definitions that Gripbook does not
 * use are skipped.
 */
import { collectWarnings } from "./dbc-doubts.ts";
import { finishMessages, type MessageDraft, type SignalDraft } from "./dbc-draft.ts";
import { DbcError, type DbcFile } from "./dbc-model.ts";
import { DbcScanner } from "./dbc-scanner.ts";
import { readSignalLine } from "./dbc-signal-line.ts";

/** Statements that end in ";" and carry no values. */
const PASSED_OVER = new Set(
  "EV_ ENVVAR_DATA_ EV_DATA_ SGTYPE_ SGTYPE_VAL_ BA_DEF_SGTYPE_ BA_SGTYPE_ SIG_TYPE_REF_ SIG_GROUP_ SIGTYPE_VALTYPE_ BO_TX_BU_ BA_DEF_ BA_DEF_DEF_ BA_DEF_REL_ BA_REL_ BA_DEF_DEF_REL_ CAT_DEF_ CAT_ FILTER BU_SG_REL_ BU_EV_REL_ BU_BO_REL_".split(
    " ",
  ),
);
const READ = new Set("VERSION NS_ BS_ BU_ BO_ SG_ VAL_TABLE_ VAL_ CM_ BA_ SIG_VALTYPE_ SG_MUL_VAL_".split(" "));
/** A page of text; nobody reads more of a comment on a screen. */
const LONGEST_COMMENT = 10_000;
/** A file with more warnings than this has one mistake many times. */
const MOST_DOUBTS = 200;
const EXTENDED_BIT = 0x80000000;
/** A pseudo message for signals that belong to no message (its id has bits 30 and 31 set). */
const HOMELESS = "VECTOR__INDEPENDENT_SIG_MSG";

/** Parses one file; `file` is the name that messages to people carry. */
export function parseDbc(file: string, text: string): DbcFile {
  const reader = new Reader(file, text);
  reader.readAll();
  const messages = finishMessages(reader.messages, reader.warn);
  collectWarnings(messages, reader.warn);
  reader.tellRest();
  return { file, messages, warnings: reader.warnings };
}

class Reader {
  readonly messages: MessageDraft[] = [];
  readonly warnings: string[] = [];
  readonly #scan: DbcScanner;
  readonly #byId = new Map<number, MessageDraft>();
  readonly #tables = new Map<string, Map<number, string>>();
  #current: MessageDraft | null = null;
  #doubts = 0;

  constructor(file: string, text: string) {
    this.#scan = new DbcScanner(file, text);
  }

  readonly warn = (line: number, problem: string): void => {
    this.#doubts += 1;
    if (this.#doubts <= MOST_DOUBTS) this.warnings.push(`${this.#scan.file}:${line}: ${problem}`);
  };

  /** One more line that counts the warnings not listed. */
  tellRest(): void {
    if (this.#doubts > MOST_DOUBTS) this.warnings.push(`${this.#scan.file}: ${this.#doubts - MOST_DOUBTS} more doubts are not shown`);
  }

  readAll(): void {
    const scan = this.#scan;
    let known = false;
    while (!scan.atEnd) {
      if (scan.takes(";")) continue;
      const line = scan.line;
      const keyword = scan.peekWord();
      if (keyword === null || !(READ.has(keyword) || PASSED_OVER.has(keyword))) {
        // The file may be any file and may hold secrets: its text is quoted only once it is known to be a signal file.
        if (!known) throw new DbcError(scan.file, line, "expected a section such as VERSION, BU_ or BO_; name a signal file (DBC)");
        throw scan.expected("a section such as BO_, SG_, CM_ or VAL_");
      }
      known = true;
      scan.word("a section");
      if (keyword === "SG_") {
        this.#readSignal(line);
        continue;
      }
      this.#current = null;
      if (PASSED_OVER.has(keyword)) scan.skipStatement(keyword);
      else this.#readSection(keyword, line);
    }
  }

  #readSection(keyword: string, line: number): void {
    const scan = this.#scan;
    switch (keyword) {
      case "VERSION":
        scan.string("the version text");
        return;
      case "NS_":
        scan.mark(":", "after NS_");
        // The symbols listed here are also names of sections, each alone on its line.
        while (!scan.atEnd && scan.peekWord() !== null && scan.wordIsAloneOnLine) scan.word("a symbol");
        return;
      case "BS_":
        scan.mark(":", "after BS_");
        while (scan.peekWord() !== null && /^\d/.test(scan.peekWord() ?? "")) {
          scan.number("a bit timing");
          if (!scan.takes(":")) scan.takes(",");
        }
        return;
      case "BU_":
        scan.mark(":", "after BU_");
        this.#readNames();
        return;
      case "BO_":
        this.#readMessage(line);
        return;
      case "VAL_TABLE_": {
        const name = scan.word("the name of the value table");
        this.#tables.set(name, this.#readLabels("VAL_TABLE_"));
        return;
      }
      case "VAL_":
        this.#readValues(line);
        return;
      case "CM_":
        this.#readComment(line);
        return;
      case "BA_":
        this.#readAttribute(line);
        return;
      case "SIG_VALTYPE_": {
        const signal = this.#readSignalName(line, "SIG_VALTYPE_");
        scan.takes(":");
        const type = scan.number("0 (integer), 1 (float) or 2 (double)");
        scan.mark(";", "at the end of SIG_VALTYPE_");
        if (signal !== null) signal.kind = type === 0 ? "integer" : "float";
        if (type < 0 || type > 2) this.warn(line, `expected a value type 0, 1 or 2, got ${type}`);
        return;
      }
      default:
        this.#readMuxValues(line);
    }
  }

  /** Names up to the next section, with or without commas. */
  #readNames(): void {
    const scan = this.#scan;
    for (let word = scan.peekWord(); word !== null && !READ.has(word) && !PASSED_OVER.has(word); word = scan.peekWord()) {
      scan.word("a name");
      scan.takes(",");
    }
  }

  #readMessage(line: number): void {
    const scan = this.#scan;
    const fullId = scan.number("a message id");
    if (!(fullId >= 0 && fullId <= 0xffffffff && Number.isInteger(fullId)))
      throw scan.expected("a message id from 0 to 4294967295 before this");
    const name = scan.word("a message name");
    scan.mark(":", "after the message name");
    const byteLength = scan.number("the message's length in bytes");
    const extended = fullId >= EXTENDED_BIT;
    const message: MessageDraft = {
      name,
      line,
      id: extended ? fullId - EXTENDED_BIT : fullId,
      extended,
      byteLength,
      comment: "",
      cycleMs: null,
      signals: new Map(),
    };
    this.#current = message;
    this.#readNames();
    if (name === HOMELESS) return;
    if (message.id > (extended ? 0x1fffffff : 0x7ff))
      this.warn(line, `message ${name} has id ${message.id}, too large for ${extended ? 29 : 11} bits: no frame will ever match it`);
    const before = this.#byId.get(fullId);
    if (before !== undefined)
      this.warn(line, `message ${name} has the id of ${before.name} (line ${before.line}); frames are shown as ${name}`);
    this.#byId.set(fullId, message);
    this.messages.push(message);
  }

  #readSignal(line: number): void {
    const message = this.#current;
    if (message === null) throw this.#scan.expected("a BO_ message before this SG_ signal");
    const signal = readSignalLine(this.#scan, line);
    this.#readNames();
    if (message.signals.has(signal.name)) {
      this.warn(line, `message ${message.name} has two signals ${signal.name}; the later one counts`);
      message.signals.delete(signal.name);
    }
    message.signals.set(signal.name, signal);
  }

  #readValues(line: number): void {
    const scan = this.#scan;
    if (!/^\d/.test(scan.peekWord() ?? "")) {
      // Texts of an environment variable.
      scan.skipStatement("VAL_");
      return;
    }
    const signal = this.#readSignalName(line, "VAL_");
    const table = scan.peekWord();
    if (table !== null && this.#tables.has(table)) {
      scan.word("a value table");
      scan.mark(";", "at the end of VAL_");
      if (signal !== null) signal.labels = new Map(this.#tables.get(table));
      return;
    }
    const labels = this.#readLabels("VAL_");
    if (signal !== null) signal.labels = labels;
  }

  #readLabels(section: string): Map<number, string> {
    const scan = this.#scan;
    const labels = new Map<number, string>();
    while (!scan.takes(";")) {
      const value = scan.number(`a value or ";" in ${section}`);
      labels.set(value, scan.string(`the text of value ${value}`));
    }
    return labels;
  }

  #readComment(line: number): void {
    const scan = this.#scan;
    const what = scan.peeks('"') ? "" : scan.word("BU_, BO_, SG_, EV_ or a text");
    if (what === "SG_") {
      const signal = this.#readSignalName(line, "CM_");
      const text = scan.string("the comment");
      if (signal !== null) signal.comment = text.slice(0, LONGEST_COMMENT);
    } else if (what === "BO_") {
      const message = this.#readMessageId(line, "CM_");
      const text = scan.string("the comment");
      if (message !== null) message.comment = text.slice(0, LONGEST_COMMENT);
    } else {
      if (what !== "") scan.word("a name");
      scan.string("the comment");
    }
    scan.mark(";", "at the end of CM_");
  }

  #readAttribute(line: number): void {
    const scan = this.#scan;
    const attribute = scan.string("an attribute name");
    const what = scan.peekWord();
    if (what === "BO_") {
      scan.word("BO_");
      const message = this.#readMessageId(line, "BA_");
      if (attribute === "GenMsgCycleTime") {
        const cycleMs = scan.number("the cycle time");
        if (message !== null && cycleMs > 0) message.cycleMs = cycleMs;
      } else if (attribute === "SystemMessageLongSymbol" && message !== null) message.longName = scan.string("the long name");
    } else if (what === "SG_") {
      scan.word("SG_");
      const signal = this.#readSignalName(line, "BA_");
      if (attribute === "SystemSignalLongSymbol" && signal !== null) signal.longName = scan.string("the long name");
    }
    scan.skipStatement("BA_");
  }

  #readMuxValues(line: number): void {
    const scan = this.#scan;
    const signal = this.#readSignalName(line, "SG_MUL_VAL_");
    const selector = scan.word("the multiplexor's name");
    const ranges: [number, number][] = [];
    while (!scan.takes(";")) {
      const range = scan.word('a range such as 0-3, or ";"');
      const match = /^(\d+)-(\d+)$/.exec(range);
      if (match === null) throw scan.wrongWord("a range such as 0-3", range, line);
      ranges.push([Number(match[1]), Number(match[2])]);
      scan.takes(",");
    }
    if (signal !== null) signal.extendedMux = { selector, ranges };
  }

  #readMessageId(line: number, section: string): MessageDraft | null {
    const id = this.#scan.number("a message id");
    const message = this.#byId.get(id);
    if (message === undefined && id < 0xc0000000) this.warn(line, `${section} names message id ${id}, which the file does not define`);
    return message ?? null;
  }

  #readSignalName(line: number, section: string): SignalDraft | null {
    const message = this.#readMessageId(line, section);
    const name = this.#scan.word("a signal name");
    const signal = message?.signals.get(name);
    if (message !== null && signal === undefined)
      this.warn(line, `${section} names signal ${name}, which message ${message.name} does not have`);
    return signal ?? null;
  }
}
