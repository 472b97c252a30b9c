/**
 * Compares a book's runs: the verdict, and what a screen or page shows beside it. A group without usable runs throws CompareError; the view
 * gives the reason in words instead.
 */
import type { CompareView, TypicalRun } from "../../../shared/contract/judge-views.ts";
import { compareGroups, type GroupComparison } from "../../../shared/judge/compare.ts";
import { CompareError } from "../../../shared/judge/compare-pair.ts";
import type { GroupSummary, JudgedRun, StrataFactor } from "../../../shared/judge/judged-run.ts";
import { chooseRuns } from "../../../shared/judge/run-filter.ts";
import type { StartName } from "../../../shared/launch/gate-result.ts";
import type { Book } from "../../ports/book.ts";
import { orNotReadable } from "../basics/or-not-readable.ts";
import type { Where } from "../library/chosen-runs.ts";
import { judgedRuns, resultOf, startFor, timedGates } from "./judged-runs.ts";
import { currentPlan, drivenPlan } from "./test-plan.ts";

export const USUAL_GATE = "0-60 mph";
/** More groups than this are compared only when named: each further pair lowers the chance of finding a difference in the others. */
const MOST_GROUPS_UNASKED = 3;

export interface CompareRequest {
  readonly groups?: readonly string[] | undefined;
  readonly gate?: string | undefined;
  readonly start?: StartName | undefined;
  /** What runs are compared within; absent: what they differ in. */
  readonly by?: readonly StrataFactor[] | undefined;
  /** Only runs for which all these terms hold. */
  readonly where?: Where | undefined;
}

/** The plan's groups where it has runs of both; otherwise the labels of timed runs, in driving order. */
function groupsOf(book: Book, runs: readonly JudgedRun[]): readonly string[] {
  const labels = [...new Set(runs.filter((run) => run.label !== "" && run.seconds !== null).map((run) => run.label))];
  const planned = currentPlan(book)?.plan.request.groups ?? [];
  if (planned.length > 0 && planned.every((group) => labels.includes(group))) return planned;
  const suggested = labels.length > MOST_GROUPS_UNASKED ? labels.slice(-2) : labels;
  // "off" is the reference for the other setting, whichever was driven first.
  return [...suggested.filter((label) => /\boff$/i.test(label)), ...suggested.filter((label) => !/\boff$/i.test(label))];
}

export interface BookComparison {
  readonly gate: string;
  readonly start: StartName;
  readonly runs: readonly JudgedRun[];
  readonly result: GroupComparison;
}

/** Compares the groups asked for, or those that the book suggests. */
export function compareBook(book: Book, request: CompareRequest): BookComparison {
  const gate = request.gate ?? currentPlan(book)?.plan.request.gates[0] ?? USUAL_GATE;
  const start = startFor(book, gate, request.start);
  const [all, where] = [judgedRuns(book, gate, start), request.where ?? []];
  const runs = chooseRuns(all, where);
  // Labels and gates are not what is missing here.
  if (runs.length === 0 && all.length > 0)
    throw new CompareError(
      `${all.length === 1 ? "The only run does not hold" : `None of the ${all.length} runs holds`} ${where.join(" and ")}`,
    );
  const groups = request.groups ?? groupsOf(book, runs);
  if (groups.length < 2)
    throw new CompareError(`Two groups of runs with a time for ${gate} are needed: label some runs, or choose another gate`);
  return { gate, start, runs, result: compareGroups({ gate, start, groups, runs, plan: drivenPlan(book), by: request.by }) };
}

/** Null where it is unknown, also because a page of the run's samples cannot be read. */
function heldShare(book: Book, run: number, fromS: number, toS: number): number | null {
  const columns = orNotReadable(() => book.sampleColumns(run, ["tS", "torqueRequest", "torqueDelivered"]));
  const { tS = new Float64Array(), torqueRequest, torqueDelivered } = columns ?? {};
  let [asked, held] = [0, 0];
  for (let row = 0; row < tS.length; row += 1) {
    const t = tS[row];
    if (t < fromS || t > toS) continue;
    const wanted = torqueRequest?.[row] ?? Number.NaN;
    const got = torqueDelivered?.[row] ?? Number.NaN;
    if (!(wanted > 0) || Number.isNaN(got)) continue;
    asked += wanted;
    held += Math.max(0, wanted - got);
  }
  return asked === 0 ? null : held / asked;
}

function typicalRun(book: Book, { label, runs, values, median }: GroupSummary, { gate, start }: BookComparison): TypicalRun[] {
  if (median === null || runs.length === 0) return [];
  const nearest = values.reduce((best, value, i) => (Math.abs(value - median) < Math.abs(values[best] - median) ? i : best), 0);
  const run = book.run(runs[nearest] as number);
  const { movementS, slip } = run.figures;
  const endS = resultOf(run, gate, start)?.atS ?? movementS;
  const share = heldShare(book, run.id, movementS, endS);
  return [{ group: label, run: run.id, seconds: values[nearest], secondsAbove10Percent: slip.secondsAbove10Percent, heldShare: share }];
}

/** The comparison with prints; `why` says what cannot be compared. */
export function compareView(book: Book, request: CompareRequest): CompareView {
  const gate = request.gate ?? currentPlan(book)?.plan.request.gates[0] ?? USUAL_GATE;
  const start = startFor(book, gate, request.start);
  const all = chooseRuns(judgedRuns(book, gate, start), request.where ?? []);
  const labels = [...new Set(all.map((run) => run.label).filter((label) => label !== ""))];
  const base = {
    gates: timedGates(book),
    labels: labels.map((label) => ({ label, runs: all.filter((run) => run.label === label && run.seconds !== null).length })),
    gate,
    start,
    where: request.where ?? [],
  };
  try {
    const compared = compareBook(book, { ...request, gate, start });
    const { result } = compared;
    const shown = result.groups.map((group) => group.label);
    return {
      ...base,
      groups: result.groups,
      pairs: result.pairs,
      why: null,
      driven: all.filter((run) => run.seconds !== null && shown.includes(run.label)).map((run) => run.id),
      typical: result.groups.flatMap((group) => typicalRun(book, group, compared)),
    };
  } catch (error) {
    if (!(error instanceof CompareError)) throw error;
    return { ...base, groups: [], pairs: [], why: error.message, driven: [], typical: [] };
  }
}
