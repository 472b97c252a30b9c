/** `export`: open formats only. A run's logs are its own seconds of the journal; `all` writes every run, or every recording whole where the format is a log. */
import { closeSync, openSync, writeFileSync, writeSync } from "node:fs";
import { dirname, join } from "node:path";
import type { Command } from "commander";
import { runCsv } from "../../shared/report/csv.ts";
import { candumpText, nmeaText, slcanText } from "../../shared/report/journal-text.ts";
import { byteTimesOf, firstByteTimed } from "../../shared/pipeline/byte-time.ts";
import type { Packet } from "../../shared/pipeline/packet.ts";
import { archiveRuns } from "../compose.ts";
import { readSetUp } from "../core/basics/read-set-up.ts";
import { runTable } from "../core/library/run-columns.ts";
import type { Book, Recording } from "../ports/book.ts";
import { makeFolder } from "./make-folder.ts";
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

function writeLines(file: string, lines: Iterable<string>): void {
  const handle = openSync(file, "w");
  try {
    let text = "";
    for (const line of lines) {
      text += line;
      if (text.length < CHUNK_CHARACTERS) continue;
      writeSync(handle, Buffer.from(text, "latin1"));
      text = "";
    }
    writeSync(handle, Buffer.from(text, "latin1"));
  } finally {
    closeSync(handle);
  }
}

function* between(packets: Iterable<Packet>, fromNs: number, toNs: number): Generator<Packet> {
  for (const packet of packets) {
    if (packet.arrivalNs > toNs) return;
    if (packet.arrivalNs >= fromNs) yield packet;
  }
}

function exportRun(book: Book, id: number, format: Format, file: string): void {
  const { figures, recording } = book.run(id);
  if (format === "csv") {
    writeFileSync(file, runCsv(runTable(book.samples(id), figures.movementS)));
    return;
  }
  const packets = between(book.packets(recording), figures.windowFromS * 1e9, figures.windowToS * 1e9);
  writeLines(file, LOGS[format](packets, book.recording(recording)));
}

function exportAll(book: Book, format: Format, folder: string, progress: Progress): string[] {
  makeFolder(folder);
  if (format === "csv") {
    const runs = book.runs();
    return runs.map(({ id }, i) => {
      progress.at(i / runs.length, "Exporting");
      const file = join(folder, `run-${id}.csv`);
      exportRun(book, id, format, file);
      return file;
    });
  }
  const recordings = book.recordings();
  return recordings.map((recording, i) => {
    progress.at(i / recordings.length, "Exporting");
    const file = join(folder, `recording-${recording.id}.${ENDINGS[format]}`);
    writeLines(file, LOGS[format](book.packets(recording.id), recording));
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
    .action((run: string, options: { book: string; as: string; out: string }, command: Command) =>
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
        if (run === "all") files = exportAll(book, format, options.out, progress);
        else {
          const [id] = chosenRuns(book, run);
          makeFolder(dirname(options.out));
          exportRun(book, id as number, format, options.out);
        }
        progress.end();
        if (command.optsWithGlobals().json === true) return sayJson({ files });
        return say(files.length === 0 ? "Nothing to export in this book." : `Wrote ${files.join(", ")}.`);
      }),
    );
}
