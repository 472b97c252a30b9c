/**
 * What is left before driving, in a sentence: what Gripbook could not confirm, by name, and how many checks only the two people can
 * confirm.
 */
import type { BeforeRow } from "../../../shared/contract/contract.ts";
import { type Mark, markOf } from "./check-row.ts";

/** "a, b and c" */
const listed = (names: readonly string[]) =>
  [names.slice(0, -1).join(", "), ...names.slice(-1)].filter((part) => part !== "").join(" and ");

const checks = (n: number) => `${n} ${n === 1 ? "check" : "checks"}`;

/** `rows`: null until read. `yours`: checks that the two people have not confirmed yet. */
export function beforeSentence(rows: readonly BeforeRow[] | null, yours: number): string {
  const named = (...marks: readonly Mark[]) =>
    (rows ?? []).filter((row) => marks.includes(markOf(row))).map((row) => row.name.toLowerCase());
  const lacking = named("waiting", "wrong");
  const open = rows === null ? 1 : lacking.length;
  if (open > 0) return `${checks(open + yours)} left: ${open} by Gripbook${rows === null ? "" : ` (${listed(lacking)})`}, ${yours} by you.`;
  if (yours > 0) return `${checks(yours)} left, by you.`;
  const overruled = named("overruled");
  return overruled.length === 0 ? "All ticked." : `All ticked but ${listed(overruled)}, overruled.`;
}
