/** `report`: the day on paper, as one page of HTML, the same as PDF, or its summary as an image. */
import { mkdirSync, writeFileSync } from "node:fs";
import { dirname, extname } from "node:path";
import type { Command } from "commander";
import { hostClock, softwareVersion } from "../compose.ts";
import { reportOf } from "../core/judging/report-of-book.ts";
import { printReport } from "../hosts/print-report.ts";
import { say, sayJson } from "./say.ts";
import { withBook } from "./with-book.ts";

type Format = "html" | "pdf" | "png";
const FORMATS: readonly Format[] = ["html", "pdf", "png"];

function formatOf(file: string): Format {
  const format = FORMATS.find((known) => `.${known}` === extname(file).toLowerCase());
  if (format === undefined)
    throw new RangeError(`Expected --out with a name that ends in .html, .pdf or .png, got ${JSON.stringify(file)}`);
  return format;
}

function write(file: string, bytes: string | Uint8Array): void {
  try {
    mkdirSync(dirname(file), { recursive: true });
    writeFileSync(file, bytes);
  } catch (cause) {
    throw new Error(`Report ${file}: could not be written (${(cause as Error).message}); name another place`, { cause });
  }
}

interface ReportOptions {
  readonly book: string;
  readonly out: string;
  readonly gate?: string;
  readonly group?: readonly string[];
}

export function addReportCommand(program: Command): void {
  program
    .command("report")
    .description("the day on paper: one self-contained page, the same as PDF, or its summary as an image")
    .requiredOption("--book <file>", "the book")
    .requiredOption("--out <file>", "a name that ends in .html, .pdf or .png")
    .option("--gate <name>", "what the verdict is about; the plan's gate, else 0-60 mph")
    .option("--group <labels...>", "the groups that are compared; the plan's, else those of the book")
    .action((options: ReportOptions, command: Command) => {
      const format = formatOf(options.out);
      return withBook({ file: options.book }, async (book) => {
        const request = {
          gate: options.gate?.trim(),
          groups: options.group,
          softwareVersion: softwareVersion(),
          utcUs: hostClock().utcUs(),
        };
        const { html } = await reportOf(book, request);
        write(options.out, format === "html" ? html : await printReport(html, format));
        if (command.optsWithGlobals().json === true) return sayJson({ file: options.out, format });
        return say(`Wrote ${options.out}.`);
      });
    });
}
