/** `table`: labels, reviews and conditions of many runs as a table (CSV, RFC 4180), out and in again. All of a table is taken over, or nothing. */
import { basename, dirname, resolve } from "node:path";
import type { Command } from "commander";
import { csvRows } from "../../shared/report/csv.ts";
import { readCsv } from "../../shared/report/read-csv.ts";
import { hostClock } from "../compose.ts";
import { MOST_KEPT_BYTES, readyToKeep } from "../core/library/kept-files.ts";
import { type NotesRow, notesTable, readNotes } from "../core/library/notes-table.ts";
import { overWhen } from "../disk/place.ts";
import { writeNewFile } from "../disk/new-file.ts";
import { readPlainFile } from "../disk/read-file.ts";
import type { Book } from "../ports/book.ts";
import type { TableTaken } from "./json-answers.ts";
import { say, sayJson } from "./say.ts";
import { someRuns, WHERE, type WhereOption, withBook } from "./with-book.ts";

interface TableOptions extends WhereOption {
  readonly book: string;
  readonly in?: string;
  readonly out?: string;
  readonly force?: boolean;
}

/** A season of ten thousand runs with twenty columns is far below this. */
const MOST_TABLE_BYTES = 32_000_000;

const readRows = (file: string): string[][] => readCsv(readPlainFile({ file, what: "Table" }, MOST_TABLE_BYTES).toString("utf8"));

const count = (n: number, one: string, more: string) => `${n} ${n === 1 ? one : more}`;

async function takeOver(book: Book, file: string): Promise<TableTaken> {
  const rows = readNotes(book, readRows(file));
  const kept = new Map<string, Awaited<ReturnType<typeof readyToKeep>>>();
  for (const name of new Set(rows.flatMap((row) => row.file ?? []))) {
    const bytes = readPlainFile({ file: resolve(dirname(file), name), what: "File to keep" }, MOST_KEPT_BYTES);
    kept.set(name, await readyToKeep({ name: basename(name), bytes }));
  }
  const utcUs = hostClock().utcUs();
  book.transaction(() => {
    for (const { run, label, review, conditions, file: name } of rows) {
      if (label !== undefined) book.setLabel(run, label, utcUs);
      if (review !== undefined) book.setReview(run, review, utcUs);
      if (Object.keys(conditions).length > 0) book.setConditions(run, conditions, utcUs);
      if (name !== undefined) kept.get(name)?.(book, run, utcUs);
    }
  });
  const of = (pick: (row: NotesRow) => number) => rows.reduce((sum, row) => sum + pick(row), 0);
  return {
    runs: rows.length,
    labels: of((row) => (row.label === undefined ? 0 : 1)),
    reviews: of((row) => (row.review === undefined ? 0 : 1)),
    conditions: of((row) => Object.keys(row.conditions).length),
    files: of((row) => (row.file === undefined ? 0 : 1)),
  };
}

export function addTableCommand(program: Command): void {
  program
    .command("table")
    .description(
      'labels, use, notes and conditions of many runs as CSV, out and in again; read in, an empty cell leaves what is there, "-" takes it away',
    )
    .requiredOption("--book <file>", "the book")
    .option("--out <file>", "write the table of the chosen runs")
    .option(
      "--in <file>",
      "take a table over: a column run, and any of label, use, note, conditions, controller file (a file beside the table)",
    )
    .option("--force", "with --out: take the place of a file that is there; never of a book or a set-up")
    .option(...WHERE)
    .action((options: TableOptions, command: Command) =>
      withBook({ file: options.book }, async (book) => {
        const { in: from, out } = options;
        if ((from === undefined) === (out === undefined)) throw new RangeError("Expected either --out FILE or --in FILE");
        const json = command.optsWithGlobals().json === true;
        if (out !== undefined) {
          const rows = notesTable(book, someRuns(book, "all", options));
          writeNewFile({ file: out, over: overWhen(options.force) }, [Buffer.from(csvRows(rows))]);
          return json
            ? sayJson<"table">({ file: out, runs: rows.length - 1 })
            : say(`Wrote ${out}: ${count(rows.length - 1, "run", "runs")}.`);
        }
        if (options.where !== undefined) throw new RangeError("--where chooses runs for --out; a table read in names its runs");
        const taken = await takeOver(book, from as string);
        if (json) return sayJson<"table">(taken);
        return say(
          `Changed ${count(taken.runs, "run", "runs")}: ${count(taken.labels, "label", "labels")}, ${count(taken.reviews, "review", "reviews")}, ${count(taken.conditions, "condition", "conditions")}, ${count(taken.files, "file", "files")}.`,
        );
      }),
    );
}
