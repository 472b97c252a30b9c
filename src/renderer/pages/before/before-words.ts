/** What is left before driving, in a sentence: what the tool lacks by name, and how much only the two people can confirm. */
import type { BeforeRow } from "../../../shared/contract/contract.ts";
import { type Mark, markOf } from "./check-row.ts";

/** "a, b and c" */
const listed = (names: readonly string[]) =>
  [names.slice(0, -1).join(", "), ...names.slice(-1)].filter((part) => part !== "").join(" and ");

const count = (n: number) => ["None", "One", "Two", "Three", "Four", "Five", "Six", "Seven"][n] ?? String(n);

/** `rows`: null until they were read. `yours`: what the two people have not confirmed yet. */
export function beforeSentence(rows: readonly BeforeRow[] | null, yours: number): string {
  const named = (...marks: readonly Mark[]) =>
    (rows ?? []).filter((row) => marks.includes(markOf(row))).map((row) => row.name.toLowerCase());
  const lacking = named("waiting", "wrong");
  const open = rows === null ? 1 : lacking.length;
  if (open > 0)
    return `${count(open + yours)} left, ${open === 1 ? "one is" : `${open} are`} the tool\u2019s${rows === null ? "" : `: ${listed(lacking)}`}.`;
  if (yours > 0) return `${count(yours)} left, ${yours === 1 ? "it is" : "all"} yours.`;
  const overruled = named("overruled");
  return overruled.length === 0 ? "All ticked." : `All ticked but ${listed(overruled)}, overruled.`;
}
