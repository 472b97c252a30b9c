/**
 * A book's response to settings, the next experiment as a plan, and which expected gains came true. An unsafe plan throws PlanError; a stored
 * expectation of another form throws BookError.
 */
import type { ResponseView } from "../../../shared/contract/judge-views.ts";
import { CompareError } from "../../../shared/judge/compare-pair.ts";
import { type ExpectedGain, type GainKept, gainKept } from "../../../shared/judge/expected-gain.ts";
import type { StrataFactor } from "../../../shared/judge/judged-run.ts";
import {
  composite,
  confirm,
  type Experiment,
  type ExperimentKind,
  nextExperiment,
  screening,
} from "../../../shared/judge/next-experiment.ts";
import { respond } from "../../../shared/judge/response.ts";
import { chooseRuns } from "../../../shared/judge/run-filter.ts";
import type { SettingRange } from "../../../shared/judge/settings.ts";
import { type Book, BookError, type StoredPlan } from "../../ports/book.ts";
import type { Where } from "../library/chosen-runs.ts";
import { compareBook, USUAL_GATE } from "./compare-book.ts";
import { judgedRuns, startFor } from "./judged-runs.ts";
import { currentPlan, usePlan } from "./test-plan.ts";

const KEY = "expected gains";

export interface ResponseOf {
  readonly gate?: string | undefined;
  readonly factors?: readonly string[] | undefined;
  readonly by?: readonly StrataFactor[] | undefined;
  readonly where?: Where | undefined;
}

export function responseView(book: Book, { gate = USUAL_GATE, factors, by, where }: ResponseOf): ResponseView {
  const runs = chooseRuns(judgedRuns(book, gate, startFor(book, gate, undefined)), where ?? []);
  const { response, why } = respond({ gate, runs, factors, by });
  return { gate, response, why, next: response === null ? null : nextExperiment(response), kept: gainsKept(book) };
}

export const isGain = (value: unknown): value is ExpectedGain =>
  typeof value === "object" &&
  value !== null &&
  ["gate", "from", "to"].every((key) => typeof (value as Record<string, unknown>)[key] === "string") &&
  ["gainS", "afterRun", "utcUs"].every((key) => Number.isFinite((value as Record<string, unknown>)[key]));

function expectedGains(book: Book): readonly ExpectedGain[] {
  const stored = book.setting(KEY) ?? [];
  if (!Array.isArray(stored) || !stored.every(isGain))
    throw new BookError("damaged", `Book ${book.file}: its setting ${KEY} cannot be read; run check on a copy`);
  return stored;
}

/** Each expectation against the runs driven after it, oldest first. */
function gainsKept(book: Book): GainKept[] {
  return expectedGains(book).map((expected) => {
    const later = book.runs().flatMap(({ id }) => (id > expected.afterRun ? [id] : []));
    if (later.length === 0) return gainKept(expected, null);
    try {
      const { result } = compareBook(book, {
        gate: expected.gate,
        groups: [expected.from, expected.to],
        where: [`run=${later.join(",")}`],
      });
      return gainKept(expected, result.pairs[0] ?? null);
    } catch (error) {
      if (error instanceof CompareError) return gainKept(expected, null);
      throw error;
    }
  });
}

export interface DrawRequest extends ResponseOf {
  readonly kind: ExperimentKind;
  /** For screening: what to screen, from where to where. */
  readonly levels: readonly SettingRange[];
  /** What a plan file holds besides groups, runs and gates: usable length, directions, run-off note ... */
  readonly plan: Readonly<Record<string, unknown>>;
}

function experimentOf(book: Book, { kind, levels, ...of }: DrawRequest): Experiment {
  if (kind === "screening") return screening(levels);
  const { response, why } = responseView(book, of);
  if (response === null) throw new RangeError(`No response to settings yet: ${why}`);
  return kind === "composite" ? composite(response) : confirm(response);
}

/** Draws the experiment's order, makes it the present plan, and keeps what it should gain. */
export function drawExperiment(
  book: Book,
  request: DrawRequest,
  utcUs: number,
): { readonly experiment: Experiment; readonly stored: StoredPlan } {
  const experiment = experimentOf(book, request);
  const gate = request.gate ?? USUAL_GATE;
  const { settings, runsPerSetting, expected } = experiment;
  return book.transaction(() => {
    const groups = settings.map(({ label }) => label);
    const before = currentPlan(book)?.plan.request;
    const { stored } = usePlan(
      book,
      {
        ...(before === undefined
          ? {}
          : { usableLengthM: before.usableLengthM, directions: before.directions, wet: before.wet, runOffNote: before.runOffNote }),
        orders: "any",
        ...request.plan,
        groups,
        runsPerGroup: runsPerSetting,
        gates: [gate],
      },
      utcUs,
    );
    const [from, to] = groups;
    if (expected !== null && from !== undefined && to !== undefined) {
      const gain: ExpectedGain = { gate, from, to, ...expected, afterRun: stored.afterRun, utcUs };
      book.setSetting(KEY, [...expectedGains(book), gain], utcUs);
    }
    return { experiment, stored };
  });
}
