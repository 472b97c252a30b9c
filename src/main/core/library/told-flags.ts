/** A run's flags as people are told them: its own, those that only the book's other runs show, and who overruled which with what note. */
import { ofWord } from "../../../shared/kernel/by-word.ts";
import { flagGroups } from "../../../shared/run/group-flags.ts";
import type { Flag } from "../../../shared/run/run.ts";
import type { Book, StoredRun } from "../../ports/book.ts";

/** Looks at the book once; a run that came later has its own flags. */
export function toldFlags(book: Book): (run: StoredRun) => Flag[] {
  const grouped = flagGroups(book.runs().map(({ uid, label, use, figures }) => ({ ...figures, uid, label, use })));
  return ({ uid, figures, overruled }) => {
    const others = grouped.get(uid) ?? [];
    // Runs both ways know the slope better than one run's altitude.
    const own = figures.flags.filter(({ flag }) => flag !== "slope" || !others.some((other) => other.flag === "slope"));
    return [...own, ...others].map((one) => {
      const note = ofWord(overruled, one.flag);
      return note === undefined ? one : { ...one, overruled: note };
    });
  };
}

/** Sets one aside as not counting, or takes that back. A flag that the run does not carry throws RangeError with those that it does. */
export function overrule(book: Book, run: number, flag: string, note: string | null, utcUs: number): { readonly before: string | null } {
  const stored = book.run(run);
  const carried = toldFlags(book)(stored).map((one) => one.flag as string);
  if (!carried.includes(flag) && ofWord(stored.overruled, flag) === undefined)
    throw new RangeError(
      `Run ${run} carries no flag ${JSON.stringify(flag)}: ${carried.length === 0 ? "it has none" : `it has ${carried.join(", ")}`}`,
    );
  if (note !== null && note.trim() === "") throw new RangeError("Expected a note: a flag is overruled by a person, who says why");
  book.setOverruled(run, flag, note === null ? null : note.trim(), utcUs);
  return { before: ofWord(stored.overruled, flag) ?? null };
}
