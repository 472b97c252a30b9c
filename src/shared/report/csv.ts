/** One run as CSV (RFC 4180): first row names, then one row each 10 ms from 2 s before the start; unknown is an empty field. Units are in csv-metadata.ts, or in a second row where that is asked for. Unequal columns throw RangeError. */
import { type Moment, momentCells } from "../run/moments.ts";

/** Columns of one length under the names and units that people see; the first is `timeS`, which is 0 at start "movement". */
export interface RunTable {
  readonly names: readonly string[];
  readonly units: readonly string[];
  readonly columns: readonly ArrayLike<number>[];
}

/** docs/design.md, export. */
const FROM_S = -2;
/** A millionth of any unit used here is finer than what was measured. */
const STEPS = 1e6;
const LINE_END = "\r\n";

/** Characters that a spreadsheet takes for the beginning of a formula, also in their wide forms (owasp.org, "CSV Injection"); behind apostrophes, so that `meant` can tell ours from those of a text. */
const FORMULA = /^'*[=+\-@\t\r\n\uff1d\uff0b\uff0d\uff20]/;

/** A text that a spreadsheet shows and does not run: an apostrophe is put before what would be a formula. `meant` takes it away again. */
export const inert = (text: string): string => (FORMULA.test(text) ? `'${text}` : text);

export const meant = (field: string): string => (field.startsWith("'") && FORMULA.test(field.slice(1)) ? field.slice(1) : field);

/** Rows of texts as a file (RFC 4180), none of them a formula. */
export const csvRows = (rows: readonly (readonly string[])[]): string =>
  rows.map((row) => row.map((text) => csvField(inert(text))).join(",") + LINE_END).join("");

/** Quoted where RFC 4180 requires it, and where a spreadsheet with another separator would split the field. */
export function csvField(text: string): string {
  return /[",;\t\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

const textField = (text: string) => csvField(inert(text));

function numberField(value: number): string {
  if (!Number.isFinite(value)) return "";
  // Adding 0 makes 0 of -0.
  return String(Math.round(value * STEPS) / STEPS + 0);
}

/** The fields of a column from its first row on; empty where unknown. Values of the bus are held from frame to frame, so the text before is often the next one's too. */
export function fieldsOf(column: ArrayLike<number>): (row: number) => string {
  let [before, field] = [Number.NaN, ""];
  return (row) => {
    const value = column[row] as number;
    if (value !== before) [before, field] = [value, numberField(value)];
    return field;
  };
}

/** The first row is the last sample at or before -2 s. */
export function firstRow(timeS: ArrayLike<number>): number {
  let row = 0;
  while (row + 1 < timeS.length && timeS[row + 1] <= FROM_S + 1e-9) row += 1;
  return row;
}

/** The last column: what people marked and noted while driving. */
export const NOTED = "noted";

/** Whole file, UTF-8, with a line end after the last row. `unitsRow`: units under the names, where a reader wants them there. */
export function runCsv({ names, units, columns }: RunTable, moments: readonly Moment[] = [], unitsRow = false): string {
  const timeS = columns[0];
  if (names[0] !== "timeS" || !timeS) throw new RangeError(`Expected "timeS" as the first column, got ${JSON.stringify(names[0])}`);
  if (units.length !== names.length || columns.length !== names.length)
    throw new RangeError(`Expected a unit and values for each of ${names.length} columns, got ${units.length} and ${columns.length}`);
  const uneven = columns.findIndex((column) => column.length !== timeS.length);
  if (uneven >= 0) throw new RangeError(`Expected ${timeS.length} values in column ${names[uneven]}, got ${columns[uneven]?.length}`);
  const lines = [[...names, NOTED], ...(unitsRow ? [[...units, ""]] : [])].map((row) => row.map(textField).join(","));
  const first = firstRow(timeS);
  const noted = momentCells(timeS, moments, first);
  const fields = columns.map(fieldsOf);
  for (let row = first; row < timeS.length; row += 1)
    lines.push([...fields.map((field) => field(row)), textField(noted.get(row) ?? "")].join(","));
  return lines.join(LINE_END) + LINE_END;
}
