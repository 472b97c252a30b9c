/** `report`: the day on paper: an HTML page, the same as PDF, or its summary as an image. */
import { dirname, extname } from "node:path";
import type { Command } from "commander";
import { hostClock } from "../compose.ts";
import { softwareVersion } from "../own-version.ts";
import { reportOf } from "../core/judging/report-of-book.ts";
import { makeFolder } from "../disk/make-folder.ts";
import { writeNewFile } from "../disk/new-file.ts";
import { checkPlace, overWhen } from "../disk/place.ts";
import { PAPERS, type Paper, printReport } from "../hosts/print-report.ts";
import { say, sayJson, units } from "./say.ts";
import { heldTerms, someRuns, WHERE, type WhereOption, withBook } from "./with-book.ts";

type Format = "html" | "pdf" | "png";
const FORMATS: readonly Format[] = ["html", "pdf", "png"];

function formatOf(file: string): Format {
  const format = FORMATS.find((known) => `.${known}` === extname(file).toLowerCase());
  if (format === undefined)
    throw new RangeError(`Expected --out with a name that ends in .html, .pdf or .png, got ${JSON.stringify(file)}`);
  return format;
}

/** Undefined: the sheet of this computer's region. */
function paperOf(name: string | undefined, format: Format): Paper | undefined {
  if (name === undefined) return undefined;
  const paper = PAPERS.find((known) => known.toLowerCase() === name.trim().toLowerCase());
  if (paper === undefined) throw new RangeError(`Expected --paper A4 or letter, got ${JSON.stringify(name)}`);
  if (format !== "pdf") throw new RangeError("Expected --paper with a PDF alone: nothing else has sheets; name one that ends in .pdf");
  return paper;
}

interface ReportOptions extends WhereOption {
  readonly book: string;
  readonly out: string;
  readonly gate?: string;
  readonly group?: readonly string[];
  readonly prints?: string;
  readonly paper?: string;
  readonly force?: boolean;
}

export function addReportCommand(program: Command): void {
  program
    .command("report")
    .description("the day on paper: one self-contained page, the same as PDF, or its summary as an image")
    .requiredOption("--book <file>", "the book")
    .requiredOption("--out <file>", "a name that ends in .html, .pdf or .png")
    .option("--gate <name>", "what the verdict is about; the plan's gate, else 0-60 mph")
    .option("--group <labels...>", "the groups that are compared; the plan's, else those of the book")
    .option(
      "--prints <runs>",
      "runs shown one by one, 1-12,15 or all; of over 48 runs else the quickest, the middle and the slowest of each group",
    )
    .option("--paper <name>", "the PDF's sheet: A4 or letter; this computer's region's, unless named")
    .option(...WHERE)
    .option("--force", "take the place of a file that is there; never of a book or a set-up")
    .action((options: ReportOptions, command: Command) => {
      const format = formatOf(options.out);
      const paper = paperOf(options.paper, format);
      const [file, over] = [options.out, overWhen(options.force)];
      // Checked before a browser prints in vain.
      checkPlace(file, over);
      return withBook({ file: options.book }, async (book) => {
        const request = {
          gate: options.gate?.trim(),
          groups: options.group,
          where: heldTerms(book, options),
          shown: options.prints === undefined ? undefined : someRuns(book, options.prints, options),
          softwareVersion: softwareVersion(),
          utcUs: hostClock().utcUs(),
          units: units().name,
        };
        const { html } = await reportOf(book, request);
        const bytes = format === "html" ? Buffer.from(html) : await printReport(html, format, undefined, undefined, paper);
        makeFolder(dirname(file));
        writeNewFile({ file, over }, [bytes]);
        if (command.optsWithGlobals().json === true) return sayJson<"report">({ file: options.out, format });
        return say(`Wrote ${options.out}.`);
      });
    });
}
