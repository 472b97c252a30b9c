/** Names what differs between two groups besides the setting: conditions, directions, order, measurement. Nothing known, nothing said. */
import { ofWord } from "../kernel/by-word.ts";
import { courseWords } from "../run/course-words.ts";
import type { JudgedRun } from "./judged-run.ts";
import { mean } from "./permutation.ts";
import { fixed } from "./wording.ts";

/** Differences of group means that are named. Common practice, no source: a few per cent of charge or degrees move a launch by hundredths. */
const NAMED_DIFFERENCES: readonly { readonly key: RegExp; readonly least: number; readonly unit: string; readonly words: string }[] = [
  { key: /charge/i, least: 3, unit: "%", words: "charge" },
  { key: /batterytemperature/i, least: 3, unit: "°C", words: "battery temperature" },
  { key: /motortemperature/i, least: 8, unit: "°C", words: "motor temperature" },
  { key: /invertertemperature/i, least: 8, unit: "°C", words: "inverter temperature" },
];
/** Beyond this gap of mean places (1: one group wholly before the other) drift passes for a difference. */
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

function notedWarnings(a: readonly JudgedRun[], b: readonly JudgedRun[]): string[] {
  const shares = (runs: readonly JudgedRun[], key: string) => {
    const counts = new Map<string, number>();
    for (const run of runs) {
      const value = ofWord(run.conditions, key)?.trim().toLowerCase() || "not noted";
      counts.set(value, (counts.get(value) ?? 0) + 1);
    }
    return counts;
  };
  const words = (counts: Map<string, number>) => [...counts].map(([value, count]) => `${value} ${count} times`).join(", ");
  return keysOf([...a, ...b], (run) => run.conditions).flatMap((key) => {
    // What was changed in the controller, "8 -> 6 %", is what is compared.
    if (/^chang/i.test(key) || [...a, ...b].some((run) => ofWord(run.conditions, key)?.includes("->"))) return [];
    const [in_a, in_b] = [shares(a, key), shares(b, key)];
    const values = [...new Set([...in_a.keys(), ...in_b.keys()])];
    const apart = values.reduce((sum, v) => sum + Math.abs((in_a.get(v) ?? 0) / a.length - (in_b.get(v) ?? 0) / b.length), 0) / 2;
    if (apart <= MOST_DIRECTION_GAP) return [];
    return [`unequal ${key}: ${words(in_a)} in ${a[0]?.label}, ${words(in_b)} in ${b[0]?.label}`];
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

function orderWarnings(a: readonly JudgedRun[], b: readonly JudgedRun[]): string[] {
  const ordered = [...a, ...b].sort((x, y) => x.drivenAt - y.drivenAt);
  const place = new Map(ordered.map((run, i) => [run, i]));
  const places = (runs: readonly JudgedRun[]) => mean(runs.map((run) => place.get(run) as number));
  const gap = (places(b) - places(a)) / (ordered.length / 2);
  if (Math.abs(gap) <= MOST_ORDER_GAP) return [];
  const [first, then] = gap > 0 ? [a, b] : [b, a];
  const wholly = Math.abs(gap) > 1 - 1e-9;
  return [
    `${first[0]?.label} was ${wholly ? "driven wholly" : "mostly driven"} before ${then[0]?.label}: warming tyres or a falling battery would look like the setting`,
  ];
}

function switchWarnings(runs: readonly JudgedRun[]): string[] {
  const key = keysOf(runs, (run) => run.measured).find((name) => /tractioncontrolenabled/i.test(name));
  const states = key ? new Set(runs.map((run) => ofWord(run.measured, key)).filter((value) => typeof value === "number")) : new Set();
  return states.size > 1 ? [`the car's own switch was on in some runs of ${runs[0]?.label} and off in others: check their labels`] : [];
}

/** What was changed in the controller, as noted, and before which runs: "slip target 8 -> 6 % before run 2, 4 (on)". No warning by itself: it says what is compared. */
function changeNotes(runs: readonly JudgedRun[]): string[] {
  const before = new Map<string, number[]>();
  for (const run of runs)
    for (const [key, value] of Object.entries(run.conditions)) {
      if (!value.includes("->")) continue;
      const change = `${key.replace(/^changed\s+/i, "")} ${value}`;
      before.set(change, [...(before.get(change) ?? []), run.id]);
    }
  return [...before].map(([change, ids]) => `changed in the controller: ${change} before run ${ids.join(", ")} (${runs[0]?.label})`);
}

/** Sentences without a full stop; both groups hold at least one run. */
export function unequalConditions(a: readonly JudgedRun[], b: readonly JudgedRun[]): string[] {
  return [
    ...orderWarnings(a, b),
    ...directionWarnings(a, b),
    ...measuredWarnings(a, b),
    ...notedWarnings(a, b),
    ...switchWarnings(a),
    ...switchWarnings(b),
    ...changeNotes(a),
    ...changeNotes(b),
  ];
}

/** "calibration 1", "calibrations 1, 2 and 4", "no calibration". */
function calibrationsOf(runs: readonly JudgedRun[]): string {
  const ids = [...new Set(runs.flatMap((run) => (run.calibrationId === null ? [] : [run.calibrationId])))].sort((x, y) => x - y);
  const none = runs.some((run) => run.calibrationId === null) ? ["no calibration"] : [];
  const last = ids.at(-1);
  const known = ids.length < 2 ? ids.map((id) => `calibration ${id}`) : [`calibrations ${ids.slice(0, -1).join(", ")} and ${last}`];
  return [...known, ...none].join(" and ");
}

/**
 * Error of measurement that is shared within a group and differs between them. Errors of single runs are in the scatter already;
 * a receiver or calibration used by one group only is not. Bound: the runs' whole +- as if shared, times how differently the two were used.
 */
export function measurementBetweenGroups(a: readonly JudgedRun[], b: readonly JudgedRun[]): { plusMinus: number; why: string } | null {
  const key = (run: JudgedRun) =>
    `${run.receiver ?? "unknown receiver"}, ${run.calibrationId === null ? "no calibration" : `calibration ${run.calibrationId}`}`;
  const share = (runs: readonly JudgedRun[], name: string) => runs.filter((run) => key(run) === name).length / runs.length;
  const names = [...new Set([...a, ...b].map(key))];
  const apart = names.reduce((sum, name) => sum + Math.abs(share(a, name) - share(b, name)), 0) / 2;
  if (apart === 0) return null;
  const square = (runs: readonly JudgedRun[]) => {
    const known = runs.flatMap((run) => (run.plusMinus95 === null ? [] : [run.plusMinus95 ** 2]));
    return known.length === 0 ? null : mean(known);
  };
  const [of_a, of_b] = [square(a), square(b)];
  const list = (runs: readonly JudgedRun[]) => {
    const receivers = [...new Set(runs.map((run) => run.receiver ?? "unknown receiver"))].sort();
    return receivers
      .map((name) => `${name}, ${calibrationsOf(runs.filter((run) => (run.receiver ?? "unknown receiver") === name))}`)
      .join(" and ");
  };
  const who = `${a[0]?.label} was timed with ${list(a)}, ${b[0]?.label} with ${list(b)}`;
  if (of_a === null || of_b === null) return { plusMinus: 0, why: `${who}; how far that parts them is unknown` };
  const plusMinus = apart * Math.sqrt(of_a + of_b);
  return {
    plusMinus,
    why: `${who}: up to ${fixed(plusMinus, 3)} s of the difference may be that, so the interval is wider by as much each way`,
  };
}
