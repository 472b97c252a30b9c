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

/**
 * What is not ready is the car's or its devices': Gripbook sees it, people make it so. `rows`: null until read. `yours`: checks that the two people have not confirmed yet. */
export function beforeSentence(rows: readonly BeforeRow[] | null, yours: number): string {
  const named = (...marks: readonly Mark[]) =>
    (rows ?? []).filter((row) => marks.includes(markOf(row))).map((row) => row.name.toLowerCase());
  const lacking = named("waiting", "wrong");
  const open = lacking.length;
  const toTick = yours === 0 ? "" : ` For you to tick: ${yours}.`;
  if (rows === null) return `Looking at car and laptop.${toTick}`;
  if (open > 0) return `${checks(open + yours)} left. Not seen as ready: ${listed(lacking)}.${toTick}`;
  if (yours > 0) return `${checks(yours)} left, for you to tick.`;
  const overruled = named("overruled");
  return overruled.length === 0 ? "All ticked." : `All ticked but ${listed(overruled)}, overruled.`;
}
