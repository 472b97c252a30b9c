/**
 * A season's book as people use it, in this machine's processor time: gates for the comparison of 600 and 5,000 runs, the list of up to 10,000, the report and
 * 300 CSV files; beside them DuckDB on an archive of as many runs, and a plain copy of the same bytes.
 */
import { copyFileSync, mkdtempSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { DuckDBInstance } from "@duckdb/node-api";
import { openSqliteBook } from "../../src/main/adapters/sqlite/sqlite-book.ts";
import { writeArchive } from "../../src/main/adapters/files/parquet-archive.ts";
import { compareView } from "../../src/main/core/judging/compare-book.ts";
import { reportOf } from "../../src/main/core/judging/report-of-book.ts";
import { bookViewOf } from "../../src/main/core/library/library.ts";
import { runTable } from "../../src/main/core/library/run-columns.ts";
import { runMoments } from "../../src/main/core/library/run-moments.ts";
import { makeFolder } from "../../src/main/disk/make-folder.ts";
import { writeNewFile } from "../../src/main/disk/new-file.ts";
import type { Book } from "../../src/main/ports/book.ts";
import { createSeededRandom } from "../../src/shared/judge/seeded-random.ts";
import { runCsv } from "../../src/shared/report/csv.ts";
import { archivedRuns } from "../main/adapters/files/archived-day.fixture.ts";
import { addTimedRuns } from "../support/timed-book.ts";
import { processorMs, tellBench } from "./tell-bench.ts";

const RUNS_A_DAY = 40;
const folder = mkdtempSync(join(tmpdir(), "gripbook-season-"));
const bench = tellBench("season-book");

function made(runs: number): string {
  const file = join(folder, `${runs}.gripbook`);
  const random = createSeededRandom(17);
  for (let day = 0; day * RUNS_A_DAY < runs; day += 1) {
    const driven = Array.from({ length: Math.min(RUNS_A_DAY, runs - day * RUNS_A_DAY) }, (_, i) => {
      const on = random.next() < 0.5;
      return {
        label: on ? "control on" : "control off",
        seconds: 3 + 0.1 * random.normal() - (on ? 0.05 : 0),
        courseDeg: i % 2 === 0 ? 74 : 254,
      };
    });
    addTimedRuns(file, driven, `day-${day}`, day);
  }
  return file;
}

async function taken(work: () => unknown): Promise<number> {
  const from = processorMs();
  await work();
  return processorMs() - from;
}

const UNIT = "ms of processor time";
const atMost = (limit: number) => ({ of: "value", is: "at most", limit }) as const;

/** A file each, as `export --as csv` writes them. */
function writeCsv(book: Book, ids: readonly number[], into: string): void {
  makeFolder(into);
  const moments = runMoments(book);
  for (const id of ids) {
    const run = book.run(id);
    const text = runCsv(runTable(book.samples(id), run.figures.movementS), moments(run));
    writeNewFile({ file: join(into, `run-${id}.csv`), over: "nothing" }, [Buffer.from(text)]);
  }
}

function copyAll(from: string, into: string): void {
  makeFolder(into);
  for (const name of readdirSync(from)) copyFileSync(join(from, name), join(into, name));
}

/** The same question to DuckDB: a middle for each day, surface and label. */
async function byDuckDb(runs: number): Promise<number> {
  const archive = join(folder, `archive-${runs}`);
  await writeArchive(archive, archivedRuns(runs, 10));
  const connection = await (await DuckDBInstance.create(":memory:", { threads: "2", autoinstall_known_extensions: "false" })).connect();
  return taken(() =>
    connection.runAndReadAll(
      `SELECT day, surface, label, median(seconds_0_60_mph) FROM '${archive}/runs.parquet' WHERE inUse GROUP BY ALL ORDER BY ALL`,
    ),
  );
}

/** The report and the CSV of a season's runs. */
async function handedOn(book: Book, runs: number): Promise<void> {
  const reportMs = await taken(() => reportOf(book, { softwareVersion: "bench", utcUs: 0 }));
  bench.figure({ name: "report", what: `report of ${runs} runs`, value: reportMs, unit: UNIT, gate: atMost(2000) });
  const ids = book
    .runs()
    .slice(0, 300)
    .map(({ id }) => id);
  const [ours, theirs] = [join(folder, "csv"), join(folder, "copied")];
  const value = await taken(() => writeCsv(book, ids, ours));
  const reference = { name: "a plain copy of their bytes", value: await taken(() => copyAll(ours, theirs)) };
  bench.figure({ name: "csv", what: "CSV of 300 runs", value, unit: UNIT, reference, gate: atMost(3000) });
}

const costs = {
  first: [] as { size: number; cost: number }[],
  list: [] as { size: number; cost: number }[],
  json: [] as { size: number; cost: number }[],
};

/** The list as a screen asks for it, against writing the same answer as JSON. */
async function listed(book: Book, runs: number): Promise<void> {
  const first = await taken(() => book.runs());
  bench.figure({ name: `first-${runs}`, what: `figures of ${runs} runs read for the first time`, value: first, unit: UNIT });
  let view: unknown;
  const value = await taken(() => {
    view = bookViewOf(book, "Odrel", false);
  });
  const json = await taken(() => JSON.stringify(view));
  const reference = { name: "its answer written as JSON", value: json };
  bench.figure({ name: `list-${runs}`, what: `list of ${runs} runs, its figures known`, value, unit: UNIT, reference, gate: atMost(100) });
  costs.first.push({ size: runs, cost: first });
  costs.list.push({ size: runs, cost: value });
  costs.json.push({ size: runs, cost: json });
}

try {
  for (const [runs, gateMs] of [
    [100, null],
    [600, 500],
    [5000, 2000],
    [10_000, null],
  ] as const) {
    const book = openSqliteBook({ file: made(runs), create: false });
    try {
      await listed(book, runs);
      if (gateMs === null) continue;
      const value = await taken(() => compareView(book, {}));
      const reference = { name: "DuckDB, middles by day, surface and label", value: await byDuckDb(runs) };
      bench.figure({ name: `compare-${runs}`, what: `Compare's page on ${runs} runs`, value, unit: UNIT, reference, gate: atMost(gateMs) });
      if (runs === 600) await handedOn(book, runs);
    } finally {
      book.close();
    }
  }
  bench.series({
    name: "list",
    what: "the list of a book's runs",
    sizeUnit: "runs",
    costUnit: UNIT,
    lines: [
      { name: "figures known", points: costs.list },
      { name: "read for the first time", points: costs.first },
      { name: "its answer as JSON", points: costs.json },
    ],
  });
} finally {
  rmSync(folder, { recursive: true, force: true });
}
