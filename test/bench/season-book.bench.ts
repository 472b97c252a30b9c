/**
 * A season's book as people use it, in this machine's processor time: gates for the comparison of 600 and 5,000 runs, the list, the report and
 * 300 CSV files; beside them DuckDB on an archive of as many runs, and a plain copy of the same bytes. Exits 1 above a gate.
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

const RUNS_A_DAY = 40;
const folder = mkdtempSync(join(tmpdir(), "gripbook-season-"));
const processorMs = () => {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1000;
};

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

async function timed(what: string, work: () => unknown, gateMs = Number.POSITIVE_INFINITY): Promise<number> {
  const from = processorMs();
  await work();
  const took = processorMs() - from;
  console.log(`season book: ${what}: ${took.toFixed(0)} ms of processor time${took > gateMs ? `: FAILED, over ${gateMs} ms` : ""}`);
  if (took > gateMs) process.exitCode = 1;
  return took;
}

const ratio = (what: string, ours: number, theirs: number) => console.log(`season book: ${what}: ${(ours / theirs).toFixed(1)} times`);

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
  return timed(`DuckDB, middles of ${runs} runs by day, surface and label`, () =>
    connection.runAndReadAll(
      `SELECT day, surface, label, median(seconds_0_60_mph) FROM '${archive}/runs.parquet' WHERE inUse GROUP BY ALL ORDER BY ALL`,
    ),
  );
}

try {
  for (const [runs, gateMs] of [
    [600, 500],
    [5000, 2000],
  ] as const) {
    const book = openSqliteBook({ file: made(runs), create: false });
    try {
      await timed(`figures of ${runs} runs read for the first time`, () => book.runs());
      await timed(`list of ${runs} runs, with its figures known`, () => bookViewOf(book, "Odrel", false), 100);
      const compared = await timed(`Compare's page on ${runs} runs`, () => compareView(book, {}), gateMs);
      ratio(`Compare's page on ${runs} runs against DuckDB`, compared, await byDuckDb(runs));
      if (runs > 600) continue;
      await timed(`report of ${runs} runs`, () => reportOf(book, { softwareVersion: "bench", utcUs: 0 }), 2000);
      const ids = book
        .runs()
        .slice(0, 300)
        .map(({ id }) => id);
      const [ours, theirs] = [join(folder, "csv"), join(folder, "copied")];
      const written = await timed("CSV of 300 runs", () => writeCsv(book, ids, ours), 3000);
      ratio("CSV of 300 runs against a plain copy of its bytes", written, await timed("the copy", () => copyAll(ours, theirs)));
    } finally {
      book.close();
    }
  }
} finally {
  rmSync(folder, { recursive: true, force: true });
}
