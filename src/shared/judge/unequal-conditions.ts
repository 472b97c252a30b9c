/**
 * Names what differs between two groups besides the setting: conditions, directions, order, measurement. Where nothing is known, nothing is
 * said.
 */
import { ofWord } from "../kernel/by-word.ts";
import { courseWords } from "../run/course-words.ts";
import { mean } from "./counting.ts";
import type { JudgedRun, StrataFactor } from "./judged-run.ts";
import { changeNotes, notedWarnings } from "./noted-conditions.ts";
import { paired, partition } from "./strata.ts";
import { fixed } from "./wording.ts";

/**
 * Differences of group means that are mentioned. Common practice, no source: a few per cent of charge or a few degrees change a launch by
 * hundredths of a second.
 */
const NAMED_DIFFERENCES: readonly { readonly key: RegExp; readonly least: number; readonly unit: string; readonly words: string }[] = [
  { key: /charge/i, least: 3, unit: "%", words: "charge" },
  { key: /batterytemperature/i, least: 3, unit: "°C", words: "battery temperature" },
  { key: /motortemperature/i, least: 8, unit: "°C", words: "motor temperature" },
  { key: /invertertemperature/i, least: 8, unit: "°C", words: "inverter temperature" },
];
/** Where the mean places of the groups differ by more than this (1: one group wholly before the other), drift looks like a difference. */
const MOST_ORDER_GAP = 0.5;
const MOST_DIRECTION_GAP = 0.25;

const keysOf = (runs: readonly JudgedRun[], pick: (run: JudgedRun) => object) =>
  [...new Set(runs.flatMap((run) => Object.keys(pick(run))))].sort();

function measuredMean(runs: readonly JudgedRun[], key: string): number | null {
  const known = runs.map((run) => ofWord(run.measured, key)).filter((value): value is number => typeof value === "number");
  return known.length === 0 ? null : mean(known);
}

function measuredWarnings(a: readonly JudgedRun[], b: readonly JudgedRun[]): string[] {
  return keysOf([...a, ...b], (run) => run.measured).flatMap((key) => {
    const rule = NAMED_DIFFERENCES.find((named) => named.key.test(key));
    const [of_a, of_b] = [measuredMean(a, key), measuredMean(b, key)];
    if (!rule || of_a === null || of_b === null || Math.abs(of_b - of_a) < rule.least) return [];
    return [
      `unequal ${rule.words}: on average ${fixed(of_a, 1)} ${rule.unit} in ${a[0]?.label}, ${fixed(of_b, 1)} ${rule.unit} in ${b[0]?.label}`,
    ];
  });
}

function directionWarnings(a: readonly JudgedRun[], b: readonly JudgedRun[]): string[] {
  const reference = [...a, ...b].find((run) => run.courseDeg !== null)?.courseDeg;
  if (reference === undefined || reference === null) return [];
  const share = (runs: readonly JudgedRun[]) => {
    const known = runs.filter((run) => run.courseDeg !== null);
    const along = known.filter((run) => Math.cos((((run.courseDeg as number) - reference) * Math.PI) / 180) > 0);
    return known.length === 0 ? null : { share: along.length / known.length, along: along.length, of: known.length };
  };
  const [in_a, in_b] = [share(a), share(b)];
  if (!in_a || !in_b || Math.abs(in_a.share - in_b.share) <= MOST_DIRECTION_GAP) return [];
  return [
    `unequal directions: ${in_a.along} of ${in_a.of} runs of ${a[0]?.label} went ${courseWords(reference)}, ${in_b.along} of ${in_b.of} of ${b[0]?.label}: slope and wind do not cancel`,
  ];
}

/** How far the groups' mean places in driving order are apart, from -1 (b wholly before a) to 1. */
function orderGap(a: readonly JudgedRun[], b: readonly JudgedRun[]): number {
  const ordered = [...a, ...b].sort((x, y) => x.drivenAt - y.drivenAt);
  const place = new Map(ordered.map((run, i) => [run, i]));
  const places = (runs: readonly JudgedRun[]) => mean(runs.map((run) => place.get(run) as number));
  return (places(b) - places(a)) / (ordered.length / 2);
}

/** `by`: with days among it, the order within each day counts. */
function orderWarnings(a: readonly JudgedRun[], b: readonly JudgedRun[], by: readonly StrataFactor[]): string[] {
  const days = paired(partition(a, b, by.includes("day") ? ["day"] : []));
  const runs = days.reduce((sum, day) => sum + day.a.length + day.b.length, 0);
  const gap = days.reduce((sum, day) => sum + (orderGap(day.a, day.b) * (day.a.length + day.b.length)) / runs, 0);
  if (Math.abs(gap) <= MOST_ORDER_GAP) return [];
  const [first, then] = gap > 0 ? [a, b] : [b, a];
  const wholly = Math.abs(gap) > 1 - 1e-9;
  return [
    `${first[0]?.label} was ${wholly ? "driven wholly" : "mostly driven"} before ${then[0]?.label}: warming tyres or a falling battery would look like the setting`,
  ];
}

/** "Odrel 12 runs, Other 3 runs": cars of a group. */
function carsOf(runs: readonly JudgedRun[]): string {
  const counts = new Map<string, number>();
  for (const { car } of runs) counts.set(car ?? "unknown car", (counts.get(car ?? "unknown car") ?? 0) + 1);
  return [...counts].map(([car, count]) => (counts.size === 1 ? car : `${car} ${count} times`)).join(", ");
}

/** Two cars in one comparison, said before all else; null for one car, and where runs are compared within each. */
export function carsWarning(a: readonly JudgedRun[], b: readonly JudgedRun[], by: readonly StrataFactor[]): string | null {
  if (by.includes("car") || new Set([...a, ...b].map((run) => run.car)).size < 2) return null;
  return `SEVERAL CARS in one comparison: ${carsOf(a)} in ${a[0]?.label}, ${carsOf(b)} in ${b[0]?.label}; the difference may be the car's, not the setting's`;
}

const surfacesOf = (runs: readonly JudgedRun[]) => [
  ...new Set(runs.flatMap((run) => ofWord(run.conditions, "surface")?.trim().toLowerCase() || [])),
];

/** One group on one road and the other on another, said before all else; null where a road is common to both, or not noted. */
export function surfacesWarning(a: readonly JudgedRun[], b: readonly JudgedRun[]): string | null {
  const [on_a, on_b] = [surfacesOf(a), surfacesOf(b)];
  if (on_a.length === 0 || on_b.length === 0 || on_a.some((surface) => on_b.includes(surface))) return null;
  return `NO SURFACE IN COMMON: ${on_a.join(" and ")} in ${a[0]?.label}, ${on_b.join(" and ")} in ${b[0]?.label}; the difference may be the surface's, not the setting's`;
}

function switchWarnings(runs: readonly JudgedRun[]): string[] {
  const key = keysOf(runs, (run) => run.measured).find((name) => /tractioncontrolenabled/i.test(name));
  const states = key ? new Set(runs.map((run) => ofWord(run.measured, key)).filter((value) => typeof value === "number")) : new Set();
  return states.size > 1 ? [`the car's own switch was on in some runs of ${runs[0]?.label} and off in others: check their labels`] : [];
}

/** Sentences without a full stop; both groups hold at least one run. `by`: what runs were compared within. */
export function unequalConditions(a: readonly JudgedRun[], b: readonly JudgedRun[], by: readonly StrataFactor[]): string[] {
  return [
    ...orderWarnings(a, b, by),
    ...(by.includes("direction") ? [] : directionWarnings(a, b)),
    ...measuredWarnings(a, b),
    ...notedWarnings(a, b, by),
    ...switchWarnings(a),
    ...switchWarnings(b),
    ...changeNotes(a),
    ...changeNotes(b),
  ];
}
