/** A run's flags as people see them: its own, those that need the book's other runs, and the note of whoever overruled one. */
import { flagList, typedFlag } from "../../../shared/run/flag-words.ts";
import { ofWord } from "../../../shared/kernel/by-word.ts";
import { flagGroups } from "../../../shared/run/group-flags.ts";
import type { Flag } from "../../../shared/run/run.ts";
import type { Book, StoredRun } from "../../ports/book.ts";
import { runDays } from "./run-days.ts";

/** `all`: the book's runs, and `days` their days, where they have been read already. A later run has only its own flags. */
export function toldFlags(book: Book, all: readonly StoredRun[] = book.runs(), days = runDays(book, all)): (run: StoredRun) => Flag[] {
  const grouped = flagGroups(all.map(({ uid, label, use, figures }, i) => ({ ...figures, uid, label, use, day: days[i] ?? null })));
  return ({ uid, figures, overruled }) => {
    const others = grouped.get(uid) ?? [];
    // Runs in both directions give the slope better than one run's altitude.
    const own = figures.flags.filter(({ flag }) => flag !== "slope" || !others.some((other) => other.flag === "slope"));
    return [...own, ...others].map((one) => {
      const note = ofWord(overruled, one.flag);
      return note === undefined ? one : { ...one, overruled: note };
    });
  };
}

/** Overrules a flag, or removes that. A flag that the run does not have throws RangeError with those that it has. */
export function overrule(book: Book, run: number, typed: string, note: string | null, utcUs: number): { readonly before: string | null } {
  const stored = book.run(run);
  const flag = typedFlag(typed);
  const carried = toldFlags(book)(stored);
  if (!carried.some((one) => one.flag === flag) && ofWord(stored.overruled, flag) === undefined)
    throw new RangeError(
      `Run ${run} carries no flag ${JSON.stringify(typed)}: ${carried.length === 0 ? "it has none" : `it has ${flagList(carried)}`}`,
    );
  if (note !== null && note.trim() === "") throw new RangeError("Expected a note: a flag is overruled by a person, who says why");
  book.setOverruled(run, flag, note === null ? null : note.trim(), utcUs);
  return { before: ofWord(stored.overruled, flag) ?? null };
}
