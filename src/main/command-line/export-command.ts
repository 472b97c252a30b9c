/**
 * `export`: open formats only. A run's logs hold its own seconds of the journal. `all` writes every run, or for log formats every recording
 * as a whole. The units of a CSV are in a file beside it.
 */
import { basename, dirname, join } from "node:path";
import type { Command } from "commander";
import { NOTED, runCsv } from "../../shared/report/csv.ts";
import { csvMetadata, type DescribedCsv, FOLDER_METADATA, metadataOf } from "../../shared/report/csv-metadata.ts";
import { KMH_AND_M } from "../../shared/kernel/shown-units.ts";
import { runsCsv } from "../../shared/report/runs-csv.ts";
import { candumpText, nmeaText, slcanText } from "../../shared/report/journal-text.ts";
import { byteTimesOf, firstByteTimed } from "../../shared/pipeline/byte-time.ts";
import type { Packet } from "../../shared/pipeline/packet.ts";
import { archiveRuns, logRuns, runsInRows } from "../compose.ts";
import { readSetUp } from "../core/basics/read-set-up.ts";
import { chosenRuns } from "../core/library/chosen-runs.ts";
import { inUnits, runTable } from "../core/library/run-columns.ts";
import { runMoments } from "../core/library/run-moments.ts";
import { makeFolder } from "../disk/make-folder.ts";
import { writeNewFile } from "../disk/new-file.ts";
import { checkPlace, type Over, overWhen } from "../disk/place.ts";
import type { Book, Recording } from "../ports/book.ts";
import { createProgress, type Progress } from "./progress.ts";
import { say, sayJson, units, warn } from "./say.ts";
import { isOneNumber, someRuns, WHERE, type WhereOption, withBook } from "./with-book.ts";

/** A log's stamps are those of first bytes: the time that bytes took on a UART is subtracted before writing. */
function timed(packets: Iterable<Packet>, { origin, setUp }: Recording): Iterable<Packet> {
  if (origin !== "live") return packets;
  return firstByteTimed(packets, byteTimesOf(readSetUp(setUp, "Set-up of the recording").setUp.sources));
}

const LOGS = {
  candump: (packets: Iterable<Packet>, of: Recording) => candumpText(timed(packets, of), of.baseUtcUs, of.canFormat),
  slcan: (packets: Iterable<Packet>, of: Recording) => slcanText(timed(packets, of), of.baseUtcUs, of.canFormat),
  nmea: (packets: Iterable<Packet>, of: Recording) => nmeaText(timed(packets, of), of.baseUtcUs),
} as const;
const ENDINGS = { csv: "csv", candump: "log", slcan: "slcan", nmea: "nmea" } as const;
type Format = keyof typeof ENDINGS;
const FORMATS = [...Object.keys(ENDINGS), "parquet", "mcap", "runs"].join(", ");

const CHUNK_CHARACTERS = 1 << 16;

/** Raw bytes as the devices sent them, in pieces of a good size for writing. */
function* inPieces(lines: Iterable<string>): Generator<Uint8Array> {
  let text = "";
  for (const line of lines) {
    text += line;
    if (text.length < CHUNK_CHARACTERS) continue;
    yield Buffer.from(text, "latin1");
    text = "";
  }
  yield Buffer.from(text, "latin1");
}

function* between(packets: Iterable<Packet>, fromNs: number, toNs: number): Generator<Packet> {
  for (const packet of packets) {
    if (packet.arrivalNs > toNs) return;
    if (packet.arrivalNs >= fromNs) yield packet;
  }
}

interface Source {
  readonly book: Book;
  readonly format: Format;
  readonly unitsRow: boolean;
  /** Reads each recording once. */
  readonly moments: ReturnType<typeof runMoments>;
  /** Columns of the CSVs that were written. */
  readonly columns: DescribedCsv[];
}

function runPieces({ book, format, unitsRow, moments, columns }: Source, id: number, file: string): Iterable<Uint8Array> {
  const run = book.run(id);
  const { figures, recording } = run;
  if (format === "csv") {
    const table = inUnits(runTable(book.samples(id), figures.movementS), units());
    columns.push({ file, names: [...table.names, NOTED], units: [...table.units, ""] });
    return [Buffer.from(runCsv(table, moments(run), unitsRow))];
  }
  const packets = between(book.packets(recording), figures.windowFromS * 1e9, figures.windowToS * 1e9);
  return inPieces(LOGS[format](packets, book.recording(recording)));
}

const metadataPieces = (columns: readonly DescribedCsv[]) => [Buffer.from(csvMetadata(columns))];

interface FileToWrite {
  readonly name: string;
  pieces(): Iterable<Uint8Array>;
}

/** What a folder gets (`runs`: null for all): the name of each file, and its bytes once asked for. */
function filesOf(source: Source, runs: readonly number[] | null): FileToWrite[] {
  const { book, format } = source;
  if (format === "csv" || runs !== null)
    return (runs ?? chosenRuns(book, "all")).map((id) => {
      const name = `run-${id}.${ENDINGS[format]}`;
      return { name, pieces: () => runPieces(source, id, name) };
    });
  return book.recordings().map((recording) => ({
    name: `recording-${recording.id}.${ENDINGS[format]}`,
    pieces: () => inPieces(LOGS[format](book.packets(recording.id), recording)),
  }));
}

interface ToFolder {
  readonly source: Source;
  /** Null: all. */
  readonly runs: readonly number[] | null;
  readonly folder: string;
  readonly over: Over;
  readonly progress: Progress;
}

function exportSeveral({ source, runs, folder, over, progress }: ToFolder): string[] {
  makeFolder(folder);
  const files = filesOf(source, runs).map(({ name, pieces }) => ({ file: join(folder, name), pieces }));
  if (source.format === "csv" && !source.unitsRow && files.length > 0)
    files.push({ file: join(folder, FOLDER_METADATA), pieces: () => metadataPieces(source.columns) });
  // All files or none: a folder that mixes new with older runs would look complete.
  for (const { file } of files) checkPlace(file, over, "folder");
  return files.map(({ file, pieces }, i) => {
    progress.at(i / files.length, "Exporting");
    writeNewFile({ file, over, another: "folder" }, pieces());
    return file;
  });
}

function exportOne(source: Source, id: number, file: string, over: Over): string[] {
  makeFolder(dirname(file));
  const beside = source.format === "csv" && !source.unitsRow ? [metadataOf(file)] : [];
  for (const each of [file, ...beside]) checkPlace(each, over);
  writeNewFile({ file, over }, runPieces(source, id, basename(file)));
  for (const metadata of beside) writeNewFile({ file: metadata, over }, metadataPieces(source.columns));
  return [file, ...beside];
}

/** One CSV with a row a run. */
async function exportRows(book: Book, runs: readonly number[], { out, unitsRow = false, force }: ExportOptions): Promise<string[]> {
  makeFolder(dirname(out));
  const over = overWhen(force);
  const beside = unitsRow ? [] : [metadataOf(out)];
  for (const each of [out, ...beside]) checkPlace(each, over);
  const { names, units: its, text } = runsCsv(await runsInRows(book, runs), unitsRow);
  writeNewFile({ file: out, over }, [Buffer.from(text)]);
  for (const file of beside) writeNewFile({ file, over }, metadataPieces([{ file: basename(out), names, units: its }]));
  return [out, ...beside];
}

const ENDINGS_ASKED = ["SIGINT", "SIGTERM", "SIGHUP"] as const;

/** One MCAP file with a channel a run. Ctrl-C ends it between two runs, and nothing is left. */
async function exportMcap(book: Book, runs: readonly number[], { out, force }: ExportOptions): Promise<string[]> {
  if (runs.length === 0) return [];
  makeFolder(dirname(out));
  const [progress, stopped] = [createProgress(), new AbortController()];
  const stop = () => stopped.abort();
  for (const signal of ENDINGS_ASKED) process.on(signal, stop);
  try {
    const onRun = (i: number) => progress.at(i / runs.length, "Exporting");
    await logRuns(book, runs, { file: out, over: overWhen(force), signal: stopped.signal, onRun });
  } finally {
    for (const signal of ENDINGS_ASKED) process.off(signal, stop);
    progress.end();
  }
  return [out];
}

/** Columns of many runs are asked for by name, in queries that are kept. */
const UNITS_OF_ITS_OWN = "--units changes a run's CSV alone; what is written here has the units that it names";

interface ExportOptions extends WhereOption {
  readonly book: string;
  readonly as: string;
  readonly out: string;
  readonly unitsRow?: boolean;
  readonly force?: boolean;
}

function tell(files: readonly string[], json: boolean): void {
  if (json) sayJson<"export">({ files });
  else say(files.length === 0 ? "Nothing to export in this book." : `Wrote ${files.join(", ")}.`);
}

export function addExportCommand(program: Command): void {
  program
    .command("export")
    .argument("<runs>", "a run's number, several as in 1-12,15, or all")
    .description("a run's samples or its raw logs, or what is known of many runs, in open formats")
    .requiredOption("--book <file>", "the book")
    .requiredOption("--as <format>", `${FORMATS}; mcap: one file with a channel a run; runs: one CSV with a row a run`)
    .requiredOption("--out <path>", "a file for one run, a row a run or mcap, a folder for several; parquet adds to an archive in a folder")
    .option("--units-row", "units in a second row of a CSV instead of in a file beside it")
    .option(...WHERE)
    .option("--force", "take the place of files that are there; never of a book or a set-up")
    .action((run: string, options: ExportOptions, command: Command) =>
      withBook({ file: options.book }, async (book) => {
        const json = command.optsWithGlobals().json === true;
        if (options.as !== "csv" && units() !== KMH_AND_M) warn(UNITS_OF_ITS_OWN);
        if (options.as === "parquet") {
          const summary = await archiveRuns(book, someRuns(book, run, options), options.out);
          if (json) return sayJson<"export">(summary);
          return say(`Wrote ${summary.runs} runs to the archive ${options.out}; it holds ${summary.runsInArchive} now.`);
        }
        if (options.as === "mcap") return tell(await exportMcap(book, someRuns(book, run, options), options), json);
        if (options.as === "runs") return tell(await exportRows(book, someRuns(book, run, options), options), json);
        if (!Object.hasOwn(ENDINGS, options.as)) throw new RangeError(`Expected --as with ${FORMATS}, got ${JSON.stringify(options.as)}`);
        const source = { book, format: options.as as Format, unitsRow: options.unitsRow === true, moments: runMoments(book), columns: [] };
        const over = overWhen(options.force);
        const ids = someRuns(book, run, options);
        // One number is one file; anything that may be several goes into a folder.
        if (isOneNumber(run)) return tell(exportOne(source, ids[0] as number, options.out, over), json);
        const progress = createProgress();
        const runs = run === "all" && options.where === undefined ? null : ids;
        const files = exportSeveral({ source, runs, folder: options.out, over, progress });
        progress.end();
        return tell(files, json);
      }),
    );
}
