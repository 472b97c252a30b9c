/** One run as CSV (RFC 4180): first row names, second row units, then one row each 10 ms from 2 s before the start; unknown is an empty field. Unequal columns throw RangeError. */

/** Columns of one length under the names and units that people see; the first is `timeS`, 0 at start "movement". */
export interface RunTable {
  readonly names: readonly string[];
  readonly units: readonly string[];
  readonly columns: readonly ArrayLike<number>[];
}

/** docs/design.md, export. */
const FROM_S = -2;
/** A millionth of any unit used here lies below what was measured. */
const DECIMALS = 6;
const LINE_END = "\r\n";

/** What a spreadsheet takes for the beginning of a formula, in its wide forms too (owasp.org, "CSV Injection"). */
const FORMULA = /^[=+\-@\t\r\n\uff1d\uff0b\uff0d\uff20]/;

/** A text that a spreadsheet shows and does not run: an apostrophe goes before what would be a formula. Gripbook reads no CSV, so none is taken away again. */
export const inert = (text: string): string => (FORMULA.test(text) ? `'${text}` : text);

/** Quoted where RFC 4180 asks for it, and where a spreadsheet set to another separator would part the field. */
export function csvField(text: string): string {
  return /[",;\t\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

const textField = (text: string) => csvField(inert(text));

function numberField(value: number): string {
  if (!Number.isFinite(value)) return "";
  const text = String(Number(value.toFixed(DECIMALS)));
  return text === "-0" ? "0" : text;
}

/** The first row is the last sample at or before -2 s. */
function firstRow(timeS: ArrayLike<number>): number {
  let row = 0;
  while (row + 1 < timeS.length && timeS[row + 1] <= FROM_S + 1e-9) row += 1;
  return row;
}

/** Whole file, UTF-8, with a line end after the last row. */
export function runCsv({ names, units, columns }: RunTable): string {
  const timeS = columns[0];
  if (names[0] !== "timeS" || !timeS) throw new RangeError(`Expected "timeS" as the first column, got ${JSON.stringify(names[0])}`);
  if (units.length !== names.length || columns.length !== names.length)
    throw new RangeError(`Expected a unit and values for each of ${names.length} columns, got ${units.length} and ${columns.length}`);
  const uneven = columns.findIndex((column) => column.length !== timeS.length);
  if (uneven >= 0) throw new RangeError(`Expected ${timeS.length} values in column ${names[uneven]}, got ${columns[uneven]?.length}`);
  const lines = [names.map(textField).join(","), units.map(textField).join(",")];
  for (let row = firstRow(timeS); row < timeS.length; row += 1)
    lines.push(columns.map((column) => numberField(column[row] as number)).join(","));
  return lines.join(LINE_END) + LINE_END;
}
