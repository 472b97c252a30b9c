/** `label`, `conditions`, `review`: what a person says about a run. Every edit keeps what stood before. */
import type { Command } from "commander";
import { hostClock } from "../compose.ts";
import { viewOf } from "../core/library.ts";
import type { Book } from "../ports/book.ts";
import { say, sayJson } from "./say.ts";
import { runNumber, withBook } from "./with-book.ts";

const LONGEST_LABEL = 200;

function readPairs(pairs: readonly string[]): Record<string, string | null> {
  return Object.fromEntries(
    pairs.map((pair) => {
      const at = pair.indexOf("=");
      if (at < 1) throw new RangeError(`Expected KEY=VALUE (an empty VALUE takes the key away), got ${JSON.stringify(pair)}`);
      const value = pair.slice(at + 1).trim();
      return [pair.slice(0, at).trim(), value === "" ? null : value];
    }),
  );
}

function readUse(text: string): boolean {
  if (text !== "yes" && text !== "no") throw new RangeError(`Expected --use yes or --use no, got ${JSON.stringify(text)}`);
  return text === "yes";
}

export function addEditCommands(program: Command): void {
  function edit(file: string, run: string, command: Command, change: (book: Book, id: number, utcUs: number) => string): Promise<void> {
    return withBook({ file }, (book) => {
      const id = runNumber(run);
      const said = change(book, id, hostClock().utcUs());
      if (command.optsWithGlobals().json === true) sayJson(viewOf(book, id));
      else say(said);
    });
  }
  program
    .command("label")
    .arguments("<run> <text>")
    .description("name a run's group")
    .requiredOption("--book <file>", "the book")
    .action((run: string, text: string, options: { book: string }, command: Command) =>
      edit(options.book, run, command, (book, id, utcUs) => {
        const label = text.trim();
        if (label.length > LONGEST_LABEL) throw new RangeError(`Expected a label of at most ${LONGEST_LABEL} characters, got ${label.length}`);
        book.setLabel(id, label, utcUs);
        return `Run ${id} is now "${label}".`;
      }),
    );
  program
    .command("conditions")
    .arguments("<run> <pairs...>")
    .description("note conditions and what was changed: KEY=VALUE ..., e.g. surface=wet 'slip target=8 -> 6 %'")
    .requiredOption("--book <file>", "the book")
    .action((run: string, pairs: string[], options: { book: string }, command: Command) =>
      edit(options.book, run, command, (book, id, utcUs) => {
        book.setConditions(id, readPairs(pairs), utcUs);
        const now = Object.entries(book.run(id).conditions).map(([key, value]) => `${key}=${value}`);
        return `Run ${id}: ${now.length === 0 ? "no conditions noted" : now.join(", ")}.`;
      }),
    );
  program
    .command("review")
    .argument("<run>")
    .description("set a run aside or take it back; it is never deleted")
    .requiredOption("--book <file>", "the book")
    .requiredOption("--use <yes|no>", "whether comparisons use it")
    .requiredOption("--note <text>", "why")
    .action((run: string, options: { book: string; use: string; note: string }, command: Command) =>
      edit(options.book, run, command, (book, id, utcUs) => {
        const use = readUse(options.use);
        if (!use && options.note.trim() === "") throw new RangeError("Expected --note with a reason: a run is set aside by a person, with a note");
        book.setReview(id, { use, note: options.note.trim() }, utcUs);
        return `Run ${id} is ${use ? "used" : "set aside"}.`;
      }),
    );
}
