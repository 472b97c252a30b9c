/** A book's runs compared: the verdict, and what a screen or a page shows beside it. A group without usable runs throws CompareError; the view says so in words instead. */
import type { CompareView, TypicalRun } from "../../../shared/contract/judge-views.ts";
import { compareGroups, CompareError, type GroupComparison } from "../../../shared/judge/compare.ts";
import type { GroupSummary, JudgedRun } from "../../../shared/judge/judged-run.ts";
import type { StartName } from "../../../shared/launch/gate-result.ts";
import type { RunSamples } from "../../../shared/run/run.ts";
import type { Book } from "../../ports/book.ts";
import { judgedRuns, resultOf, startFor, timedGates } from "./judged-runs.ts";
import { currentPlan, drivenPlan } from "./test-plan.ts";

const USUAL_GATE = "0-60 mph";
/** More groups than these are chosen by name, never by themselves: each pair more costs every other one some of its chance. */
const MOST_GROUPS_UNASKED = 3;

export interface CompareRequest {
  readonly groups?: readonly string[] | undefined;
  readonly gate?: string | undefined;
  readonly start?: StartName | undefined;
}

/** The plan's groups where it has runs of both; else the labels that timed runs carry, in the order driven. */
function groupsOf(book: Book, runs: readonly JudgedRun[]): readonly string[] {
  const labels = [...new Set(runs.filter((run) => run.label !== "" && run.seconds !== null).map((run) => run.label))];
  const planned = currentPlan(book)?.plan.request.groups ?? [];
  if (planned.length > 0 && planned.every((group) => labels.includes(group))) return planned;
  const suggested = labels.length > MOST_GROUPS_UNASKED ? labels.slice(-2) : labels;
  // "off" is what the other setting is measured against, whichever was driven first.
  return [...suggested.filter((label) => /\boff$/i.test(label)), ...suggested.filter((label) => !/\boff$/i.test(label))];
}

export interface BookComparison {
  readonly gate: string;
  readonly start: StartName;
  readonly runs: readonly JudgedRun[];
  readonly result: GroupComparison;
}

/** Compares the groups asked for, or those the book suggests. */
export function compareBook(book: Book, request: CompareRequest): BookComparison {
  const gate = request.gate ?? currentPlan(book)?.plan.request.gates[0] ?? USUAL_GATE;
  const start = startFor(book, gate, request.start);
  const runs = judgedRuns(book, gate, start);
  const groups = request.groups ?? groupsOf(book, runs);
  if (groups.length < 2)
    throw new CompareError(`Two groups of runs with a time for ${gate} are needed: label some runs, or choose another gate`);
  return { gate, start, runs, result: compareGroups({ gate, start, groups, runs, plan: drivenPlan(book) }) };
}

function heldShare({ roles, tS }: RunSamples, fromS: number, toS: number): number | null {
  const { torqueRequest, torqueDelivered } = roles;
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
  const share = heldShare(book.samples(run.id).samples, movementS, endS);
  return [{ group: label, run: run.id, seconds: values[nearest], secondsAbove10Percent: slip.secondsAbove10Percent, heldShare: share }];
}

/** The comparison with prints; what cannot be compared is said in `why`. */
export function compareView(book: Book, request: CompareRequest): CompareView {
  const gate = request.gate ?? currentPlan(book)?.plan.request.gates[0] ?? USUAL_GATE;
  const start = startFor(book, gate, request.start);
  const all = judgedRuns(book, gate, start);
  const labels = [...new Set(all.map((run) => run.label).filter((label) => label !== ""))];
  const base = {
    gates: timedGates(book),
    labels: labels.map((label) => ({ label, runs: all.filter((run) => run.label === label && run.seconds !== null).length })),
    gate,
    start,
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
