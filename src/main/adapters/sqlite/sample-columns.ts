/**
 * Columns of a run's rows in the table `sample`, read as arrays, and the checksum over all of them. A page that cannot be read throws SQLite's
 * own error.
 */
import { crc32 } from "node:zlib";
import type { Database } from "better-sqlite3";

/** Sample columns that always exist, in the order of RunSamples. */
export const FIXED_COLUMNS = [
  "tS",
  "groundSpeedMps",
  "groundSpeedSigmaMps",
  "wheelSpeedMps",
  "slipSpeedMps",
  "slipRatio",
  "slipSigma",
  "distanceM",
  "accelerationMps2",
] as const;

/** The number of each row, beside what it holds. */
const ROW = "row";

/** Over an hour, a row each 10 ms. */
const MOST_ROWS = 500_000;

/** A name quoted for SQL, whatever it contains (sqlite.org/lang_keywords.html): the only place where text becomes part of a statement. */
export const quoted = (name: string) => `"${name.replaceAll('"', '""')}"`;

/** Unknown is NaN. Null where the run has more rows than any run has. */
export function readColumns(db: Database, run: number, names: readonly string[]): Float64Array[] | null {
  const rows = db
    .prepare(`SELECT ${names.map(quoted).join(", ")} FROM sample WHERE run = ? ORDER BY row LIMIT ${MOST_ROWS + 1}`)
    .raw()
    .all(run) as (number | null)[][];
  if (rows.length > MOST_ROWS) return null;
  // One block, filled row by row: twice as fast as an array made of each column, since every row is looked at once.
  const count = rows.length;
  const block = new Float64Array(names.length * count);
  for (let at = 0; at < count; at += 1) {
    const row = rows[at] as (number | null)[];
    for (let i = 0; i < names.length; i += 1) block[i * count + at] = row[i] ?? Number.NaN;
  }
  return names.map((_, i) => block.subarray(i * count, (i + 1) * count));
}

/** No sample is the lowest number there is: it stands for unknown ones, since NaN has other bits on another machine. */
const UNKNOWN = -Number.MAX_VALUE;

/**
 * CRC-32 (as in zlib) over columns by name. One that is unknown from end to end does not count, so that a column which a later version adds
 * changes no sum. -0 counts as 0, as SQLite stores it.
 */
function sumOfColumns(columns: ReadonlyMap<string, Float64Array>): number {
  let crc = 0;
  for (const name of [...columns.keys()].sort()) {
    const values = columns.get(name) as Float64Array;
    const summed = new Float64Array(values.length);
    let isKnown = false;
    for (let i = 0; i < values.length; i += 1) {
      const value = values[i] as number;
      const isNumber = !Number.isNaN(value);
      isKnown ||= isNumber;
      summed[i] = isNumber ? value + 0 : UNKNOWN;
    }
    if (isKnown) crc = crc32(new Uint8Array(summed.buffer), crc32(`${name} ${values.length} `, crc));
  }
  return crc;
}

/** Of samples as they are written: the rows' numbers go from 0. */
export function sumOfSamples(columns: ReadonlyMap<string, Float64Array>): number {
  const [first] = columns.values();
  return sumOfColumns(new Map([...columns, [ROW, Float64Array.from(first ?? [], (_, row) => row)]]));
}

/** The same of everything that is stored of the run's samples; null where it has more rows than any run has. */
export function sumOfRows(db: Database, run: number): number | null {
  const names = (db.pragma("table_info(sample)") as { name: string }[]).map(({ name }) => name).filter((name) => name !== "run");
  const columns = readColumns(db, run, names);
  return columns === null ? null : sumOfColumns(new Map(names.map((name, i) => [name, columns[i] as Float64Array])));
}
