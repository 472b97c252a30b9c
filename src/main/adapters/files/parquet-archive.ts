/**
 * The archive: a folder of Parquet files that DuckDB, Spark and Trino read (docs/archive.md). Each file is written beside its place and
 * then renamed, so a reader never sees half a file. An error throws ArchiveError and leaves the old file as it was.
 */
import type { ArchiveEntry } from "../../ports/archive.ts";
import { existsSync } from "node:fs";
import { dirname, join } from "node:path";
import { parquetReadObjects } from "hyparquet";
import { type ColumnSource, parquetWriteBuffer } from "hyparquet-writer";
import {
  ARCHIVE_SCHEMA,
  type ArchivedRun,
  type Cell,
  CONDITION_COLUMNS,
  conditionRows,
  RUN_COLUMNS,
  runRow,
  SAMPLE_COLUMNS,
  sampleColumnName,
  samplesPath,
  type TableColumn,
} from "../../../shared/report/runs-table.ts";
import { makeFolder } from "../../disk/make-folder.ts";
import { writeNewFile } from "../../disk/new-file.ts";
import { readPlainFile } from "../../disk/read-file.ts";

export class ArchiveError extends Error {
  readonly code = "archive";
}

export interface ArchiveSummary {
  readonly runs: number;
  /** Rows in the table of runs after the export, including those of other books. */
  readonly runsInArchive: number;
  readonly samples: number;
  readonly folder: string;
}

/** Rows that one reader thread reads at a time. */
const ROW_GROUP = 100_000;
const RUNS_FILE = "runs.parquet";
const CONDITIONS_FILE = "conditions.parquet";
/** Some hundred thousand runs; a larger file does not fit in one array. */
const MOST_ARCHIVE_BYTES = 1e9;

function replaceFile(file: string, bytes: Uint8Array): void {
  makeFolder(dirname(file));
  writeNewFile({ file, over: "own" }, [bytes]);
}

function encode(columns: readonly TableColumn[], data: readonly unknown[][], metadata: Readonly<Record<string, string>>): Uint8Array {
  const columnData = columns.map(
    (column, i): ColumnSource => ({ name: column.name, type: column.type, nullable: true, data: data[i] as ColumnSource["data"] }),
  );
  const kvMetadata = Object.entries({
    gripbookSchema: String(ARCHIVE_SCHEMA),
    units: JSON.stringify(Object.fromEntries(columns.map((c) => [c.name, c.unit]))),
    ...metadata,
  });
  return new Uint8Array(
    parquetWriteBuffer({
      columnData,
      rowGroupSize: ROW_GROUP,
      createdBy: "gripbook",
      kvMetadata: kvMetadata.map(([key, value]) => ({ key, value })),
    }),
  );
}

const asStored = (type: TableColumn["type"], cell: Cell): unknown =>
  type === "TIMESTAMP" && typeof cell === "number" ? new Date(cell) : cell;

function sampleBytes({ run, table }: ArchiveEntry): Uint8Array {
  const byName = new Map(table.names.map((name, i) => [sampleColumnName(name), table.columns[i]]));
  const unknown = table.names.map(sampleColumnName).filter((name) => !SAMPLE_COLUMNS.some((column) => column.name === name));
  if (unknown.length > 0)
    throw new ArchiveError(`Run ${run.uid}: the archive has no column for ${unknown.join(", ")}: at most four sensors a list are kept`);
  const rows = table.columns[0]?.length ?? 0;
  const data = SAMPLE_COLUMNS.map(({ name }) => {
    if (name === "runUid") return new Array<string>(rows).fill(run.uid);
    const column = byName.get(name);
    return Array.from({ length: rows }, (_, row) => {
      const value = column?.[row];
      return value === undefined || !Number.isFinite(value) ? null : value;
    });
  });
  const sensors = Object.fromEntries(table.names.map((name, i) => [sampleColumnName(name), table.units[i] ?? ""]));
  return encode(SAMPLE_COLUMNS, data, { runUid: run.uid, carUnits: JSON.stringify(sensors), softwareVersion: run.softwareVersion });
}

async function readRows(file: string): Promise<Record<string, unknown>[]> {
  if (!existsSync(file)) return [];
  const bytes = readPlainFile({ file, what: "Archive" }, MOST_ARCHIVE_BYTES);
  try {
    return await parquetReadObjects({ file: bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength) as ArrayBuffer });
  } catch (cause) {
    throw new ArchiveError(
      `Archive ${file}: is no table of an archive (${(cause as Error).message}): move it away, or choose another folder`,
      { cause },
    );
  }
}

interface FreshRows {
  readonly file: string;
  readonly columns: readonly TableColumn[];
  readonly runs: readonly ArchivedRun[];
  readonly rowsOf: (run: ArchivedRun) => readonly (readonly Cell[])[];
}

/** Rows of other runs stay; a run written again replaces its old rows. Columns that an older archive lacks are null. */
async function mergeRows({ file, columns, runs, rowsOf }: FreshRows): Promise<number> {
  const written = new Set(runs.map(({ uid }) => uid));
  const fresh = runs.flatMap((run) => rowsOf(run).map((cells) => cells.map((cell, i) => asStored((columns[i] as TableColumn).type, cell))));
  const kept = (await readRows(file))
    .filter((row) => !written.has(row.runUid as string))
    .map((row) => columns.map(({ name }) => row[name] ?? null));
  const rows = [...kept, ...fresh];
  replaceFile(
    file,
    encode(
      columns,
      columns.map((_, i) => rows.map((row) => row[i])),
      {},
    ),
  );
  return rows.length;
}

/** Adds or replaces the runs in the archive at `folder`. Sample files are written first, the table that names them last. */
export async function writeArchive(folder: string, entries: Iterable<ArchiveEntry>): Promise<ArchiveSummary> {
  const runs: ArchivedRun[] = [];
  let samples = 0;
  for (const entry of entries) {
    replaceFile(join(folder, samplesPath(entry.run)), sampleBytes(entry));
    samples += entry.table.columns[0]?.length ?? 0;
    runs.push(entry.run);
  }
  if (runs.length === 0) throw new ArchiveError("Nothing to export: the book holds no such run");
  await mergeRows({ file: join(folder, CONDITIONS_FILE), columns: CONDITION_COLUMNS, runs, rowsOf: conditionRows });
  const runsInArchive = await mergeRows({ file: join(folder, RUNS_FILE), columns: RUN_COLUMNS, runs, rowsOf: (run) => [runRow(run)] });
  return { runs: runs.length, runsInArchive, samples, folder };
}
