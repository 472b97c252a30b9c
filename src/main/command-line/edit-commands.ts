/** `label`, `conditions`, `review`, `kept-file`: what a person says about a run, and keeps with it. Every edit keeps what stood before. */
import { byWord, ofWord } from "../../shared/kernel/by-word.ts";
import { basename } from "node:path";
import type { Command } from "commander";
import { hostClock } from "../compose.ts";
import { FILE_CONDITION, hashIn, keepRunFile, MOST_KEPT_BYTES } from "../core/library/kept-files.ts";
import { viewOf } from "../core/library/library.ts";
import { overrule } from "../core/library/told-flags.ts";
import { writeNewFile } from "../disk/new-file.ts";
import { readPlainFile } from "../disk/read-file.ts";
import type { Book } from "../ports/book.ts";
import { say, sayJson } from "./say.ts";
import { runNumber, withBook } from "./with-book.ts";

const LONGEST_LABEL = 200;
/** These belong to one run alone, and so does what was changed in the controller: "8 -> 6 %". */
const CHANGE = "->";
const OWN = ["driver's note", "before driving", FILE_CONDITION];

function readPairs(pairs: readonly string[]): Record<string, string | null> {
  return byWord(
    pairs.map((pair) => {
      const at = pair.indexOf("=");
      if (at < 1) throw new RangeError(`Expected KEY=VALUE (an empty VALUE takes the key away), got ${JSON.stringify(pair)}`);
      const value = pair.slice(at + 1).trim();
      return [pair.slice(0, at).trim(), value === "" ? null : value] as const;
    }),
  );
}

/** What another run's conditions lend this one: what it has not noted itself. */
function borrowed(book: Book, from: number, to: number): Record<string, string> {
  const own = book.run(to).conditions;
  const lent = Object.entries(book.run(from).conditions).filter(
    ([key, value]) => ofWord(own, key) === undefined && !OWN.includes(key) && !value.includes(CHANGE),
  );
  return byWord(lent);
}

function readUse(text: string): boolean {
  if (text !== "yes" && text !== "no") throw new RangeError(`Expected --use yes or --use no, got ${JSON.stringify(text)}`);
  return text === "yes";
}

function edit(
  file: string,
  run: string,
  command: Command,
  change: (book: Book, id: number, utcUs: number) => string | Promise<string>,
): Promise<void> {
  return withBook({ file }, async (book) => {
    const id = runNumber(run);
    const said = await change(book, id, hostClock().utcUs());
    if (command.optsWithGlobals().json === true) sayJson(viewOf(book, id));
    else say(said);
  });
}

export function addEditCommands(program: Command): void {
  program
    .command("label")
    .arguments("<run> <text>")
    .description("name a run's group")
    .requiredOption("--book <file>", "the book")
    .action((run: string, text: string, options: { book: string }, command: Command) =>
      edit(options.book, run, command, (book, id, utcUs) => {
        const label = text.trim();
        if (label.length > LONGEST_LABEL)
          throw new RangeError(`Expected a label of at most ${LONGEST_LABEL} characters, got ${label.length}`);
        book.setLabel(id, label, utcUs);
        return `Run ${id} is now "${label}".`;
      }),
    );
  program
    .command("conditions")
    .arguments("<run> [pairs...]")
    .description("note conditions and what was changed: KEY=VALUE ..., e.g. surface=wet 'slip target=8 -> 6 %'")
    .requiredOption("--book <file>", "the book")
    .option("--like <run>", "first take over what that run noted and this one did not")
    .option("--file <file>", "keep a file with the run, such as the controller's parameters, by its SHA-256")
    .action((run: string, pairs: string[], options: { book: string; like?: string; file?: string }, command: Command) =>
      edit(options.book, run, command, async (book, id, utcUs) => {
        if (pairs.length === 0 && options.like === undefined && options.file === undefined)
          throw new RangeError("Expected KEY=VALUE, --like or --file");
        const like = options.like === undefined ? {} : borrowed(book, runNumber(options.like), id);
        const set = byWord<string | null>([...Object.entries(like), ...Object.entries(readPairs(pairs))]);
        if (Object.keys(set).length > 0) book.setConditions(id, set, utcUs);
        if (options.file !== undefined)
          await keepRunFile(
            book,
            id,
            { name: basename(options.file), bytes: readPlainFile({ file: options.file, what: "File to keep" }, MOST_KEPT_BYTES) },
            utcUs,
          );
        const now = Object.entries(book.run(id).conditions).map(([key, value]) => `${key}=${value}`);
        return `Run ${id}: ${now.length === 0 ? "no conditions noted" : now.join(", ")}.`;
      }),
    );
  program
    .command("review")
    .argument("<run>")
    .description("set a run aside or take it back, or overrule one of its flags; nothing is ever deleted")
    .requiredOption("--book <file>", "the book")
    .option("--use <yes|no>", "whether comparisons use it")
    .option("--overrule <flag>", "a flag of the run that does not count here; an empty --note takes that back")
    .requiredOption("--note <text>", "why")
    .action((run: string, options: { book: string; use?: string; overrule?: string; note: string }, command: Command) =>
      edit(options.book, run, command, (book, id, utcUs) => {
        if ((options.use === undefined) === (options.overrule === undefined))
          throw new RangeError("Expected either --use yes or no, or --overrule with the name of a flag");
        if (options.overrule !== undefined) {
          const note = options.note.trim();
          overrule(book, id, options.overrule, note === "" ? null : note, utcUs);
          return `Run ${id}: flag ${options.overrule} ${note === "" ? "counts again" : "is overruled"}.`;
        }
        const use = readUse(options.use ?? "");
        if (!use && options.note.trim() === "")
          throw new RangeError("Expected --note with a reason: a run is set aside by a person, with a note");
        book.setReview(id, { use, note: options.note.trim() }, utcUs);
        return `Run ${id} is ${use ? "used" : "set aside"}.`;
      }),
    );
  program
    .command("kept-file")
    .argument("<run>")
    .description("write out the file that was kept with a run")
    .requiredOption("--book <file>", "the book")
    .requiredOption("--out <file>", "where to")
    .action((run: string, options: { book: string; out: string }) =>
      withBook({ file: options.book }, (book) => {
        const noted = book.run(runNumber(run)).conditions[FILE_CONDITION];
        const file = book.keptFile(hashIn(noted ?? "") ?? "");
        if (file === null) throw new RangeError(`Run ${run} has no file kept with it; \`conditions ${run} --file FILE\` keeps one`);
        writeNewFile({ file: options.out, over: "nothing" }, [file.bytes]);
        say(`Written: ${options.out} (${file.name}, sha256 ${file.sha256})`);
      }),
    );
}
