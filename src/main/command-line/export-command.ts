/** `export`: open formats only. A run's logs are its own seconds of the journal; `all` writes every run, or every recording whole where the format is a log. */
import { dirname, join } from "node:path";
import type { Command } from "commander";
import { runCsv } from "../../shared/report/csv.ts";
import { candumpText, nmeaText, slcanText } from "../../shared/report/journal-text.ts";
import { byteTimesOf, firstByteTimed } from "../../shared/pipeline/byte-time.ts";
import type { Packet } from "../../shared/pipeline/packet.ts";
import { archiveRuns } from "../compose.ts";
import { readSetUp } from "../core/basics/read-set-up.ts";
import { runTable } from "../core/library/run-columns.ts";
import { makeFolder } from "../disk/make-folder.ts";
import { writeNewFile } from "../disk/new-file.ts";
import { checkPlace, type Over, overWhen } from "../disk/place.ts";
import type { Book, Recording } from "../ports/book.ts";
import { createProgress, type Progress } from "./progress.ts";
import { say, sayJson } from "./say.ts";
import { chosenRuns, withBook } from "./with-book.ts";

/** A log's stamps are those of first bytes: what a UART's bytes took is off before they are written. */
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
const FORMATS = [...Object.keys(ENDINGS), "parquet"].join(", ");

const CHUNK_CHARACTERS = 1 << 16;

/** Raw bytes as the devices sent them, in pieces worth a write each. */
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

function runPieces(book: Book, id: number, format: Format): Iterable<Uint8Array> {
  const { figures, recording } = book.run(id);
  if (format === "csv") return [Buffer.from(runCsv(runTable(book.samples(id), figures.movementS)))];
  const packets = between(book.packets(recording), figures.windowFromS * 1e9, figures.windowToS * 1e9);
  return inPieces(LOGS[format](packets, book.recording(recording)));
}

/** What `all` writes: a file's name, and its bytes once asked for. */
function filesOf(book: Book, format: Format): { readonly name: string; pieces(): Iterable<Uint8Array> }[] {
  if (format === "csv") return book.runs().map(({ id }) => ({ name: `run-${id}.csv`, pieces: () => runPieces(book, id, format) }));
  return book.recordings().map((recording) => ({
    name: `recording-${recording.id}.${ENDINGS[format]}`,
    pieces: () => inPieces(LOGS[format](book.packets(recording.id), recording)),
  }));
}

function exportAll(book: Book, format: Format, folder: string, over: Over, progress: Progress): string[] {
  makeFolder(folder);
  const files = filesOf(book, format).map(({ name, pieces }) => ({ file: join(folder, name), pieces }));
  // All or none: half a folder that is mixed with older runs would look whole.
  for (const { file } of files) checkPlace(file, over, "folder");
  return files.map(({ file, pieces }, i) => {
    progress.at(i / files.length, "Exporting");
    writeNewFile({ file, over, another: "folder" }, pieces());
    return file;
  });
}

export function addExportCommand(program: Command): void {
  program
    .command("export")
    .argument("<run>", "a run's number, or all")
    .description("a run's samples or its raw logs, in open formats")
    .requiredOption("--book <file>", "the book")
    .requiredOption("--as <format>", FORMATS)
    .requiredOption("--out <path>", "a file for one run, a folder for all; parquet adds to an archive in a folder")
    .option("--force", "take the place of files that are there; never of a book or a set-up")
    .action((run: string, options: { book: string; as: string; out: string; force?: boolean }, command: Command) =>
      withBook({ file: options.book }, async (book) => {
        if (options.as === "parquet") {
          const summary = await archiveRuns(book, chosenRuns(book, run), options.out);
          if (command.optsWithGlobals().json === true) return sayJson(summary);
          return say(`Wrote ${summary.runs} runs to the archive ${options.out}; it holds ${summary.runsInArchive} now.`);
        }
        if (!Object.hasOwn(ENDINGS, options.as)) throw new RangeError(`Expected --as with ${FORMATS}, got ${JSON.stringify(options.as)}`);
        const format = options.as as Format;
        let files = [options.out];
        const progress = createProgress();
        const over = overWhen(options.force);
        if (run === "all") files = exportAll(book, format, options.out, over, progress);
        else {
          const [id] = chosenRuns(book, run);
          makeFolder(dirname(options.out));
          writeNewFile({ file: options.out, over }, runPieces(book, id as number, format));
        }
        progress.end();
        if (command.optsWithGlobals().json === true) return sayJson({ files });
        return say(files.length === 0 ? "Nothing to export in this book." : `Wrote ${files.join(", ")}.`);
      }),
    );
}
