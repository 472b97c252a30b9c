/** Answers what people say about a stored run: label, review, conditions, flags overruled, files kept. Each edit gives the request that takes it back. */
import type { Edited, RequestArgument, RequestName } from "../../../shared/contract/contract.ts";
import type { Book } from "../../ports/book.ts";
import { FILE_CONDITION, keepRunFile } from "./kept-files.ts";
import { overrule } from "./told-flags.ts";

const EDITS = ["run.label", "run.review", "run.conditions", "run.overrule", "run.file"] as const satisfies readonly RequestName[];
type RunEdit = (typeof EDITS)[number];

export const isRunEdit = (name: RequestName): name is RunEdit => (EDITS as readonly RequestName[]).includes(name);

export async function answerRunEdit(name: RunEdit, given: unknown, book: Book, utcUs: number): Promise<Edited> {
  switch (name) {
    case "run.label": {
      const { run, label } = given as RequestArgument<typeof name>;
      const before = book.run(run).label;
      book.setLabel(run, label, utcUs);
      return { undo: { name, argument: { run, label: before } } };
    }
    case "run.review": {
      const { run, use, note } = given as RequestArgument<typeof name>;
      const before = book.run(run);
      book.setReview(run, { use, note }, utcUs);
      return { undo: { name, argument: { run, use: before.use, note: before.note } } };
    }
    case "run.conditions": {
      const { run, set } = given as RequestArgument<typeof name>;
      const before = book.run(run).conditions;
      book.setConditions(run, set, utcUs);
      return { undo: { name, argument: { run, set: Object.fromEntries(Object.keys(set).map((key) => [key, before[key] ?? null])) } } };
    }
    case "run.overrule": {
      const { run, flag, note } = given as RequestArgument<typeof name>;
      const { before } = overrule(book, run, flag, note, utcUs);
      return { undo: { name, argument: { run, flag, note: before } } };
    }
    case "run.file": {
      const { run, name: file, base64 } = given as RequestArgument<typeof name>;
      const before = book.run(run).conditions[FILE_CONDITION] ?? null;
      await keepRunFile(book, run, { name: file, bytes: Uint8Array.from(Buffer.from(base64, "base64")) }, utcUs);
      // The bytes stay in the book; the run no longer names them.
      return { undo: { name: "run.conditions", argument: { run, set: { [FILE_CONDITION]: before } } } };
    }
  }
}
