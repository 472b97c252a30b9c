/** Error of measurement that two groups do not share, and how far it may part them. Nothing known gives nothing, with why. */
import type { JudgedRun } from "./judged-run.ts";
import { mean } from "./counting.ts";
import type { RunStratum } from "./strata.ts";
import { fixed } from "./wording.ts";

interface MeasurementBetween {
  readonly plusMinus: number;
  readonly why: string;
}

interface Between {
  /** Null: unknown. */
  readonly plusMinus: number | null;
  readonly who: string;
}

const UNKNOWN_EFFECT = "the effect on the difference is unknown";
const widerBy = (plusMinus: number) =>
  `up to ${fixed(plusMinus, 3)} s of the difference may be that, so the interval is wider by as much each way`;

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
function betweenGroups(a: readonly JudgedRun[], b: readonly JudgedRun[]): Between | null {
  const key = (run: JudgedRun) =>
    `${run.receiver ?? "unknown receiver"}, ${run.calibrationId === null ? "no calibration" : `calibration ${run.calibrationId}`}`;
  const shares = (runs: readonly JudgedRun[]) => {
    const counts = new Map<string, number>();
    for (const run of runs) counts.set(key(run), (counts.get(key(run)) ?? 0) + 1 / runs.length);
    return counts;
  };
  const [in_a, in_b] = [shares(a), shares(b)];
  const names = [...new Set([...in_a.keys(), ...in_b.keys()])];
  const apart = names.reduce((sum, name) => sum + Math.abs((in_a.get(name) ?? 0) - (in_b.get(name) ?? 0)), 0) / 2;
  if (apart < 1e-9) return null;
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
  return { who, plusMinus: of_a === null || of_b === null ? null : apart * Math.sqrt(of_a + of_b) };
}

/**
 * The same within strata that hold both groups, each counted as the test counts its pairs: what two groups of one day share does not part them.
 * `share`: the weight of a stratum.
 */
export function measurementBetween(
  strata: readonly RunStratum<JudgedRun>[],
  share: (stratum: { readonly a: number; readonly b: number }) => number,
): MeasurementBetween | null {
  const own = strata.map(({ a, b }) => ({ between: betweenGroups(a, b), weight: share({ a: a.length, b: b.length }) }));
  const some = own.flatMap(({ between, weight }) => (between === null ? [] : [{ ...between, weight }]));
  const [only] = some;
  if (only === undefined) return null;
  const who =
    strata.length === 1
      ? only.who
      : `in ${some.length} of ${strata.length} strata the groups were timed with other receivers or calibrations`;
  const known = some.flatMap(({ plusMinus, weight }) => (plusMinus === null ? [] : [weight * plusMinus]));
  if (known.length === 0) return { plusMinus: 0, why: `${who}; ${UNKNOWN_EFFECT}` };
  const plusMinus = known.reduce((sum, part) => sum + part, 0) / own.reduce((sum, part) => sum + part.weight, 0);
  const unknown = some.length - known.length;
  const rest = unknown === 0 ? "" : `; in ${unknown} of them the effect is unknown`;
  return { plusMinus, why: `${who}: ${widerBy(plusMinus)}${rest}` };
}
