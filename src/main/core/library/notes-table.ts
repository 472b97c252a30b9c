/**
 * What people noted with runs, as a table: a row a run, a column a condition. Read back, an empty cell leaves what is there and "-" takes it
 * away. What cannot be taken over throws RangeError with row and column, and nothing is changed.
 */
import { ofWord } from "../../../shared/kernel/by-word.ts";
import { isPlainFileName } from "../../../shared/kernel/file-name.ts";
import { pointOf } from "../../../shared/run/course-words.ts";
import type { Book } from "../../ports/book.ts";
import { FILE_CONDITION } from "./kept-files.ts";
import { rowsOf } from "./library.ts";
import { runFacts } from "./run-facts.ts";

/** For people to know a run by; ignored when read back. */
const TOLD = ["started", "course", "0-60 mph, s"] as const;
/** What is edited besides conditions. */
const WORDS = ["label", "use", "note"] as const;
const NONE = "-";
const LONGEST = 2000;

/** One run's changes; absent: left as it is. */
export interface NotesRow {
  readonly run: number;
  readonly label?: string;
  readonly review?: { readonly use: boolean; readonly note: string };
  /** Null takes a condition away. */
  readonly conditions: Readonly<Record<string, string | null>>;
  /** A file to keep with the run, by its name beside the table. */
  readonly file?: string;
}

/** Header and rows; unknown is empty. */
export function notesTable(book: Book, ids: readonly number[]): string[][] {
  const wanted = new Set(ids);
  const facts = new Map(runFacts(book, book.runs()).map((run) => [run.id, run]));
  const rows = rowsOf(book).filter((row) => wanted.has(row.id));
  const noted = (id: number) => facts.get(id)?.conditions ?? {};
  const keys = [...new Set(rows.flatMap(({ id }) => Object.keys(noted(id))))].sort();
  return [
    ["run", ...TOLD, ...WORDS, ...keys],
    ...rows.map(({ id, startedAt, courseDeg, seconds, label, use, note }) => [
      String(id),
      startedAt ?? "",
      courseDeg === null ? "" : pointOf(courseDeg),
      seconds === null ? "" : seconds.toFixed(3),
      label,
      use ? "yes" : "no",
      note,
      ...keys.map((key) => ofWord(noted(id), key) ?? ""),
    ]),
  ];
}

/** Columns by name. Throws RangeError for a header without "run", with an empty name or with one twice. */
function columnsOf(header: readonly string[]): string[] {
  const names = header.map((name) => name.trim());
  const twice = names.find((name, i) => names.indexOf(name) !== i);
  if (twice !== undefined) throw new RangeError(`Table, first row: expected different columns, got ${JSON.stringify(twice)} twice`);
  if (names.includes("")) throw new RangeError("Table, first row: expected a name in every column, got an empty one");
  if (!names.includes("run")) throw new RangeError(`Table, first row: expected a column "run", got ${names.join(", ")}`);
  return names;
}

/** `rows`: header first. Only what differs from the book is in the answer. */
export function readNotes(book: Book, rows: readonly (readonly string[])[]): NotesRow[] {
  const [header, ...lines] = rows;
  const names = columnsOf(header ?? []);
  const known = new Map(book.runs().map((run) => [run.id, run]));
  const seen = new Set<number>();
  return lines.flatMap((cells, i): NotesRow[] => {
    const place = (column: string) => `Table, row ${i + 2}, column ${JSON.stringify(column)}`;
    const cell = (column: string) => (cells[names.indexOf(column)] ?? "").trim();
    const run = known.get(Number(cell("run")));
    if (run === undefined || !/^\d+$/.test(cell("run")))
      throw new RangeError(`${place("run")}: expected the number of a run of this book, got ${JSON.stringify(cell("run"))}`);
    if (seen.has(run.id)) throw new RangeError(`${place("run")}: run ${run.id} is there twice`);
    seen.add(run.id);
    const long = names.find((name) => cell(name).length > LONGEST);
    if (long !== undefined) throw new RangeError(`${place(long)}: expected at most ${LONGEST} characters`);
    const text = (column: string, now: string) => (cell(column) === "" ? now : cell(column) === NONE ? "" : cell(column));
    const [label, use, note] = [text("label", run.label), text("use", run.use ? "yes" : "no").toLowerCase(), text("note", run.note)];
    if (use !== "yes" && use !== "no") throw new RangeError(`${place("use")}: expected yes or no, got ${JSON.stringify(cell("use"))}`);
    if (use === "no" && note === "") throw new RangeError(`${place("note")}: a run is set aside with a reason`);
    const keys = names.filter((name) => name !== "run" && ![...TOLD, ...WORDS].some((own) => own === name));
    const conditions = keys.flatMap((key) => {
      const now = ofWord(run.conditions, key) ?? "";
      const next = text(key, now);
      return key === FILE_CONDITION && next !== "" ? [] : next === now ? [] : [[key, next === "" ? null : next] as const];
    });
    const file = names.includes(FILE_CONDITION) ? text(FILE_CONDITION, "") : "";
    const isNewFile = file !== "" && file !== ofWord(run.conditions, FILE_CONDITION);
    // A table from elsewhere must not put other files of this machine into a book that is given away.
    if (isNewFile && !isPlainFileName(file))
      throw new RangeError(`${place(FILE_CONDITION)}: expected the name of a file beside the table, got ${JSON.stringify(file)}`);
    const changed: NotesRow = {
      run: run.id,
      ...(label === run.label ? {} : { label }),
      ...((use === "yes") === run.use && note === run.note ? {} : { review: { use: use === "yes", note } }),
      conditions: Object.fromEntries(conditions),
      ...(isNewFile ? { file } : {}),
    };
    return Object.keys(changed).length > 2 || conditions.length > 0 ? [changed] : [];
  });
}
