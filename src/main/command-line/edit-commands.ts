/** `label`, `conditions`, `review`, `kept-file`: what a person says about runs and keeps with them. Every edit stores the value before, and is made for all chosen runs or none. */
import { basename } from "node:path";
import type { Command } from "commander";
import type { RunView } from "../../shared/contract/run-views.ts";
import { byWord, ofWord } from "../../shared/kernel/by-word.ts";
import { hostClock } from "../compose.ts";
import { drivenPlan } from "../core/judging/test-plan.ts";
import { FILE_CONDITION, hashIn, MOST_KEPT_BYTES, readyToKeep } from "../core/library/kept-files.ts";
import { viewOf } from "../core/library/library.ts";
import { runMoments } from "../core/library/run-moments.ts";
import { overrule, toldFlags } from "../core/library/told-flags.ts";
import { writeNewFile } from "../disk/new-file.ts";
import { readPlainFile } from "../disk/read-file.ts";
import type { Book } from "../ports/book.ts";
import { readPairs } from "./read-pairs.ts";
import { say, sayJson } from "./say.ts";
import { isOneNumber, runNumber, someRuns, WHERE, type WhereOption, withBook } from "./with-book.ts";

const LONGEST_LABEL = 200;
/** These belong to one run only, and so does a change in the controller: "8 -> 6 %". */
const CHANGE = "->";
const OWN = ["driver's note", "before driving", FILE_CONDITION];

/** The conditions of another run that this one takes over: those it has not noted itself. */
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

interface EditOptions extends WhereOption {
  readonly book: string;
}

/** What a change says of one run. */
type Change = (book: Book, id: number, utcUs: number) => string;

/** One change for all chosen runs, or for none. `prepare` sees them first, and checks what was asked. */
function edit(
  options: EditOptions,
  runs: string,
  command: Command,
  prepare: (book: Book, ids: readonly number[]) => Change | Promise<Change>,
): Promise<void> {
  return withBook({ file: options.book }, async (book) => {
    const ids = someRuns(book, runs, options);
    const change = await prepare(book, ids);
    const utcUs = hostClock().utcUs();
    const said = book.transaction(() => ids.map((id) => change(book, id, utcUs)));
    if (command.optsWithGlobals().json !== true) return say(shortened(said));
    const [told, moments] = [toldFlags(book), runMoments(book)];
    const views = ids.map((id) => viewOf(book, id, told, moments));
    return sayJson<"label" | "conditions" | "review">(isOneNumber(runs) ? (views[0] as RunView) : views);
  });
}

const MOST_LINES = 24;

function shortened(lines: readonly string[]): string | readonly string[] {
  if (lines.length === 0) return "No run in this book yet.";
  return lines.length <= MOST_LINES ? lines : [...lines.slice(0, MOST_LINES), `... and so for ${lines.length - MOST_LINES} more.`];
}

/** Labels of the plan's open slots for runs without a label, in driving order. */
function labelsAsPlanned(book: Book, ids: readonly number[]): ReadonlyMap<number, string> {
  const plan = drivenPlan(book);
  if (plan === null) throw new RangeError("There is no plan to label runs by; name a label instead");
  const open = plan.slots.flatMap((run, slot) => (run === null ? [plan.design.groups[plan.order[slot] as number] as string] : []));
  const bare = ids.filter((id) => book.run(id).label === "");
  if (bare.length > open.length)
    throw new RangeError(
      `The plan has ${open.length} open slots for ${bare.length} runs without a label: name the runs that were driven by it`,
    );
  return new Map(bare.map((id, i) => [id, open[i] as string]));
}

interface LabelOptions extends EditOptions {
  readonly asPlanned?: boolean;
}

function addLabelCommand(program: Command): void {
  program
    .command("label")
    .arguments("<runs> [text]")
    .description("name the group of one run, of several (1-12,15) or of all for which --where holds")
    .requiredOption("--book <file>", "the book")
    .option("--as-planned", "instead of a text: runs without a label get those of the plan's open slots, in driving order")
    .option(...WHERE)
    .action((runs: string, text: string | undefined, options: LabelOptions, command: Command) =>
      edit(options, runs, command, (book, ids) => {
        if ((text === undefined) === (options.asPlanned === undefined)) throw new RangeError("Expected either a label or --as-planned");
        if (text === undefined) {
          const planned = labelsAsPlanned(book, ids);
          return (_, id, utcUs) => {
            const label = planned.get(id);
            if (label !== undefined) book.setLabel(id, label, utcUs);
            return label === undefined ? `Run ${id} keeps "${book.run(id).label}".` : `Run ${id} is now "${label}".`;
          };
        }
        const label = text.trim();
        if (label.length > LONGEST_LABEL)
          throw new RangeError(`Expected a label of at most ${LONGEST_LABEL} characters, got ${label.length}`);
        return (_, id, utcUs) => {
          book.setLabel(id, label, utcUs);
          return label === "" ? `Run ${id} has no label now.` : `Run ${id} is now "${label}".`;
        };
      }),
    );
}

interface ConditionsOptions extends EditOptions {
  readonly like?: string;
  readonly file?: string;
}

function addConditionsCommand(program: Command): void {
  program
    .command("conditions")
    .arguments("<runs> [pairs...]")
    .description("note conditions and what was changed, for one run or several: KEY=VALUE ..., e.g. surface=wet 'slip target=8 -> 6 %'")
    .requiredOption("--book <file>", "the book")
    .option("--like <run>", "first take over what that run noted and this one did not")
    .option("--file <file>", "keep a file with the run, such as the controller's parameters, by its SHA-256")
    .option(...WHERE)
    .action(async (runs: string, pairs: string[], options: ConditionsOptions, command: Command) => {
      if (pairs.length === 0 && options.like === undefined && options.file === undefined)
        throw new RangeError("Expected KEY=VALUE, --like or --file");
      const [asked, like] = [Object.entries(readPairs(pairs)), options.like === undefined ? null : runNumber(options.like)];
      return edit(options, runs, command, async (book) => {
        const keep =
          options.file === undefined
            ? null
            : await readyToKeep({
                name: basename(options.file),
                bytes: readPlainFile({ file: options.file, what: "File to keep" }, MOST_KEPT_BYTES),
              });
        return (_, id, utcUs) => {
          const set = byWord<string | null>([...(like === null ? [] : Object.entries(borrowed(book, like, id))), ...asked]);
          if (Object.keys(set).length > 0) book.setConditions(id, set, utcUs);
          keep?.(book, id, utcUs);
          const now = Object.entries(book.run(id).conditions).map(([key, value]) => `${key}=${value}`);
          return `Run ${id}: ${now.length === 0 ? "no conditions noted" : now.join(", ")}.`;
        };
      });
    });
}

interface ReviewOptions extends EditOptions {
  readonly use?: string;
  readonly overrule?: string;
  readonly note: string;
}

function reviewChange(options: ReviewOptions): Change {
  const note = options.note.trim();
  const { overrule: flag } = options;
  if ((options.use === undefined) === (flag === undefined))
    throw new RangeError("Expected either --use yes or no, or --overrule with the name of a flag");
  if (flag !== undefined)
    return (book, id, utcUs) => {
      overrule(book, id, flag, note === "" ? null : note, utcUs);
      return `Run ${id}: flag ${flag} ${note === "" ? "counts again" : "is overruled"}.`;
    };
  const use = readUse(options.use ?? "");
  if (!use && note === "") throw new RangeError("Expected --note with a reason: a run is set aside by a person, with a note");
  return (book, id, utcUs) => {
    book.setReview(id, { use, note }, utcUs);
    return `Run ${id} is ${use ? "used" : "set aside"}.`;
  };
}

function addReviewCommand(program: Command): void {
  program
    .command("review")
    .argument("<runs>")
    .description("set runs aside or use them again, or overrule one of their flags; nothing is ever deleted")
    .requiredOption("--book <file>", "the book")
    .option("--use <yes|no>", "whether comparisons use it")
    .option("--overrule <flag>", "a flag of the run that does not count here; an empty --note makes it count again")
    .requiredOption("--note <text>", "why")
    .option(...WHERE)
    .action(async (runs: string, options: ReviewOptions, command: Command) => {
      const change = reviewChange(options);
      return edit(options, runs, command, () => change);
    });
}

export function addEditCommands(program: Command): void {
  addLabelCommand(program);
  addConditionsCommand(program);
  addReviewCommand(program);
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
