/**
 * Stores what people say about stored runs: label, review, conditions, overruled flags, kept files. Each edit returns the request that
 * reverses it.
 */
import { byWord, ofWord } from "../../../shared/kernel/by-word.ts";
import type { AnswersTo, RunEdit } from "../../../shared/contract/contract.ts";
import type { Book } from "../../ports/book.ts";
import { chosenRuns } from "./chosen-runs.ts";
import { FILE_CONDITION, readyToKeep } from "./kept-files.ts";
import { overrule } from "./told-flags.ts";

type EditRequest = "run.overrule" | "runs.file" | "runs.edit" | "runs.conditions" | "runs.chosen";

export interface RunEditing {
  readonly book: Book;
  readonly utcUs: () => number;
  /** Called once after every edit, with its runs. */
  readonly edited: (runs: readonly number[]) => void;
}

/** Makes one run's edit, and gives the one that reverses it. */
function makeEdit(book: Book, { run, label, review, conditions }: RunEdit, utcUs: number): RunEdit {
  const before = book.run(run);
  if (label !== undefined) book.setLabel(run, label, utcUs);
  if (review !== undefined) book.setReview(run, review, utcUs);
  if (conditions !== undefined) book.setConditions(run, conditions, utcUs);
  const was = Object.keys(conditions ?? {}).map((key) => [key, ofWord(before.conditions, key) ?? null] as const);
  return {
    run,
    ...(label === undefined ? {} : { label: before.label }),
    ...(review === undefined ? {} : { review: { use: before.use, note: before.note } }),
    ...(conditions === undefined ? {} : { conditions: byWord(was) }),
  };
}

export const runEditAnswers = ({ book, utcUs, edited }: RunEditing): AnswersTo<EditRequest> => ({
  "run.overrule"({ run, flag, note }) {
    const { before } = overrule(book, run, flag, note, utcUs());
    edited([run]);
    return { undo: { name: "run.overrule", argument: { run, flag, note: before } } };
  },
  async "runs.file"({ runs, name, base64 }) {
    const keep = await readyToKeep({ name, bytes: Uint8Array.from(Buffer.from(base64, "base64")) });
    const [now, first] = [utcUs(), runs[0] as number];
    const of = (run: number) => book.run(run).conditions[FILE_CONDITION] ?? null;
    const edits = runs.map((run) => ({ run, conditions: { [FILE_CONDITION]: of(run) } }));
    book.transaction(() => {
      keep(book, first, now);
      for (const run of runs.slice(1)) book.setConditions(run, { [FILE_CONDITION]: of(first) }, now);
    });
    edited(runs);
    // The bytes stay in the book; only the runs no longer name them.
    return { undo: { name: "runs.edit", argument: { edits } } };
  },
  "runs.edit"({ edits }) {
    const now = utcUs();
    const back = book.transaction(() => edits.map((edit) => makeEdit(book, edit, now)));
    edited(edits.map(({ run }) => run));
    // The last edit is reversed first: a run may be there twice.
    return { undo: { name: "runs.edit", argument: { edits: back.reverse() } } };
  },
  "runs.chosen": ({ where }) => chosenRuns(book, "all", where),
  "runs.conditions"({ runs }) {
    const noted = new Map(book.runs().map(({ id, conditions }) => [id, conditions]));
    return {
      runs: runs.map((id) => noted.get(id) ?? book.run(id).conditions),
      keys: [...new Set([...noted.values()].flatMap(Object.keys))].sort(),
    };
  },
});
