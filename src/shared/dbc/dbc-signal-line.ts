/** Reads one SG_ line of a signal file, up to its unit. Anything unexpected throws DbcError. */
import type { SignalDraft } from "./dbc-draft.ts";
import type { DbcScanner } from "./dbc-scanner.ts";

/** Reads what follows SG_ on `line`; the receivers after the unit are left to the caller. */
export function readSignalLine(scan: DbcScanner, line: number): SignalDraft {
  const name = scan.word("a signal name");
  let multiplexor = false;
  let branch: number | null = null;
  if (!scan.peeks(":")) {
    const role = scan.word('":" or a multiplexor mark (M, m0, m0M)');
    const match = /^(?:M|m(\d+)(M?))$/.exec(role);
    if (match === null) throw scan.wrongWord("a multiplexor mark (M, m0, m0M)", role, line);
    branch = match[1] === undefined ? null : Number(match[1]);
    multiplexor = branch === null || match[2] === "M";
  }
  scan.mark(":", "after the signal name");
  const startBit = scan.number("the start bit");
  scan.mark("|", "after the start bit");
  const bitLength = scan.number("the length in bits");
  scan.mark("@", "after the length");
  const order = scan.number("the byte order, 0 (Motorola) or 1 (Intel)");
  if (order !== 0 && order !== 1) throw scan.expected("byte order 0 (Motorola) or 1 (Intel) before this");
  const signed = scan.takes("-");
  if (!signed) scan.mark("+", '(unsigned) or "-" (signed)');
  scan.mark("(", "before factor and offset");
  const factor = scan.number("the factor");
  scan.mark(",", "after the factor");
  const offset = scan.number("the offset");
  scan.mark(")", "after the offset");
  scan.mark("[", "before the least value");
  const min = scan.number("the least value");
  scan.mark("|", "after the least value");
  const max = scan.number("the greatest value");
  scan.mark("]", "after the greatest value");
  const unit = scan.string("the unit");
  return {
    name,
    line,
    startBit,
    bitLength,
    order: order === 1 ? "intel" : "motorola",
    signed,
    kind: "integer",
    factor,
    offset,
    min,
    max,
    unit,
    multiplexor,
    branch,
    extendedMux: null,
    labels: new Map(),
    comment: "",
  };
}
