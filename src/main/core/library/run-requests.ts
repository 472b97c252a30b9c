/**
 * Stores what people say about a stored run: label, review, conditions, overruled flags, kept files. Each edit returns the request that
 * reverses it.
 */
import { byWord, ofWord } from "../../../shared/kernel/by-word.ts";
import type { AnswersTo } from "../../../shared/contract/contract.ts";
import type { Book } from "../../ports/book.ts";
import { FILE_CONDITION, keepRunFile } from "./kept-files.ts";
import { overrule } from "./told-flags.ts";

type RunEdit = "run.label" | "run.review" | "run.conditions" | "run.overrule" | "run.file";

export interface RunEditing {
  readonly book: Book;
  readonly utcUs: () => number;
  /** Called after every edit; `inRow`: the edit shows in the run's row. */
  readonly edited: (run: number, inRow: boolean) => void;
}

export const runEditAnswers = ({ book, utcUs, edited }: RunEditing): AnswersTo<RunEdit> => ({
  "run.label"({ run, label }) {
    const before = book.run(run).label;
    book.setLabel(run, label, utcUs());
    edited(run, true);
    return { undo: { name: "run.label", argument: { run, label: before } } };
  },
  "run.review"({ run, use, note }) {
    const before = book.run(run);
    book.setReview(run, { use, note }, utcUs());
    edited(run, true);
    return { undo: { name: "run.review", argument: { run, use: before.use, note: before.note } } };
  },
  "run.conditions"({ run, set }) {
    const before = book.run(run).conditions;
    book.setConditions(run, set, utcUs());
    edited(run, false);
    const was = byWord(Object.keys(set).map((key) => [key, ofWord(before, key) ?? null]));
    return { undo: { name: "run.conditions", argument: { run, set: was } } };
  },
  "run.overrule"({ run, flag, note }) {
    const { before } = overrule(book, run, flag, note, utcUs());
    edited(run, true);
    return { undo: { name: "run.overrule", argument: { run, flag, note: before } } };
  },
  async "run.file"({ run, name, base64 }) {
    const before = book.run(run).conditions[FILE_CONDITION] ?? null;
    await keepRunFile(book, run, { name, bytes: Uint8Array.from(Buffer.from(base64, "base64")) }, utcUs());
    edited(run, false);
    // The bytes stay in the book; only the run no longer names them.
    return { undo: { name: "run.conditions", argument: { run, set: { [FILE_CONDITION]: before } } } };
  },
});
