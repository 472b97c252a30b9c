/**
 * Collects a book's day for the report: runs, verdict, losses and advice, plan, calibrations, changes by people, set-up. Where nothing can
 * be compared there is no verdict, and the page says so.
 */
import { CompareError } from "../../../shared/judge/compare-pair.ts";
import type { CompareView } from "../../../shared/contract/judge-views.ts";
import { MOST_WHOLE } from "../../../shared/report/shown-runs.ts";
import { reportHtml } from "../../../shared/report/report-html.ts";
import type { ReportCalibration, ReportInput, ReportRun } from "../../../shared/report/report-input.ts";
import type { Moment } from "../../../shared/run/moments.ts";
import type { Flag } from "../../../shared/run/run.ts";
import type { Book, StoredRun } from "../../ports/book.ts";
import type { Tuning } from "../../ports/tuning.ts";
import { tuningInline } from "./tuning-inline.ts";
import { nameForPath } from "../../../shared/kernel/file-name.ts";
import { type UnitsName, unitsNamed } from "../../../shared/kernel/shown-units.ts";
import { type CompareRequest, compareView } from "./compare-book.ts";
import { parseSetUp } from "../../../shared/setup/set-up-text.ts";
import { reportChange } from "./report-changes.ts";
import { currentPlan } from "./test-plan.ts";
import { groupOrder } from "../library/group-order.ts";
import { runMoments } from "../library/run-moments.ts";
import { chosenRuns } from "../library/chosen-runs.ts";
import { WIRING_KEY, wiringLines } from "../library/wiring-state.ts";
import { responseView } from "./response-book.ts";
import { runDays } from "../library/run-days.ts";
import { toldFlags } from "../library/told-flags.ts";

type Tuned = Pick<Tuning, "read" | "spin">;

export interface ReportRequest extends CompareRequest {
  readonly softwareVersion: string;
  readonly utcUs: number;
  /** The reader's units; km/h and m unless named. */
  readonly units?: UnitsName | undefined;
  /** Runs to show one by one; absent: the report chooses. */
  readonly shown?: readonly number[] | undefined;
}

const iso = (utcMs: number | null) => (utcMs === null ? null : new Date(utcMs).toISOString());
const dayFormat = new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "long", year: "numeric", timeZone: "UTC" });
const inWords = (day: string) => dayFormat.format(Date.parse(day));

/** "4 May 2031", or from the first to the last day; null where no run has a date. */
function daysOf(days: readonly (string | null)[]): string | null {
  const dated = days.filter((day) => day !== null).sort();
  const [first, last] = [dated.at(0), dated.at(-1)];
  if (first === undefined || last === undefined) return null;
  return first === last ? inWords(first) : `${inWords(first)} to ${inWords(last)}`;
}

function reportRun(run: StoredRun, flags: readonly Flag[], moments: readonly Moment[]): ReportRun {
  const { id, uid, final, label, use, note, conditions, figures, print } = run;
  const { courseDeg, measured, gates, slip } = figures;
  const startedAt = iso(figures.startedAtUtcMs);
  return {
    id,
    uid,
    final,
    label,
    startedAt,
    courseDeg,
    use,
    note,
    flags,
    conditions,
    measured,
    gates,
    slip,
    moments,
    print,
    calibrationId: run.calibration,
  };
}

function calibrationsOf(book: Book, runs: readonly StoredRun[]): ReportCalibration[] {
  const ids = [...new Set(runs.flatMap((run) => (run.calibration === null ? [] : [run.calibration])))];
  return ids.map((id) => {
    const { rollingRadiusM, gnssDelayS, notes } = book.calibration(id).calibration;
    return { id, rollingRadiusM, gnssDelayS, notes };
  });
}

/** Fitting grip takes a twentieth of a second a run: of a season the newest of each group are taken for it, as many as a usual plan drives. */
const TUNED_OF_A_GROUP = 6;

/** Null: all of them, also where none of those would be used. */
function newestOf(runs: readonly StoredRun[], { groups }: CompareView): number[] | null {
  if (runs.length <= MOST_WHOLE) return null;
  const labels = groups.length > 0 ? groups.map(({ label }) => label) : [...new Set(runs.map(({ label }) => label))].slice(-2);
  const newest = labels.flatMap((label) =>
    runs
      .filter((run) => run.use && run.label === label)
      .slice(-TUNED_OF_A_GROUP)
      .map(({ id }) => id),
  );
  return newest.length === 0 ? null : newest;
}

async function reportInput(book: Book, request: ReportRequest, tuning: Tuned): Promise<ReportInput> {
  const where = request.where ?? [];
  const chosen = new Set(chosenRuns(book, "all", where));
  const runs = book.runs().filter((run) => chosen.has(run.id));
  const [told, moments] = [toldFlags(book), runMoments(book)];
  const recordings = book.recordings();
  const texts = [...new Set(recordings.map((recording) => recording.setUp.text))];
  const cars = [...new Set(texts.map((text) => parseSetUp(text, "Set-up in the book").car.name))];
  const compared = compareView(book, request);
  const newest = newestOf(runs, compared);
  const tune = await tuning.read({ gate: request.gate, where: newest === null ? where : [`run=${newest.join(",")}`] });
  // Its spins are replayed over the whole book's tyres: of a season that would keep the paper waiting.
  const group = tune.advice[0]?.group ?? tune.groups.at(-1)?.label;
  const spin = tune.car === null || newest !== null ? null : await tuning.spin({ group, gate: tune.gate });
  // A comparison that was asked for by name and cannot be made is an error; one that was not asked for is only mentioned as missing.
  if (compared.why !== null && request.groups !== undefined) throw new CompareError(compared.why);
  const stored = currentPlan(book);
  // What a derivation found is no change by people.
  const own = book.edits(null).filter(({ what }) => what !== `setting ${WIRING_KEY}`);
  const edits = [...own, ...runs.flatMap((run) => book.edits(run.id))].sort((x, y) => x.utcUs - y.utcUs);
  return {
    car: cars.join(", ") || "no car yet",
    day: daysOf(runDays(book, runs)),
    simulated: recordings.some((recording) => recording.origin === "simulated"),
    softwareVersion: request.softwareVersion,
    writtenAt: iso(request.utcUs / 1000) as string,
    wiring: wiringLines(book),
    runs: runs.map((run) => reportRun(run, told(run), moments(run))),
    only: where.length === 0 ? null : { where, ofRuns: book.runs().length },
    groups: groupOrder(book),
    shown: request.shown ?? null,
    tunedNewest: newest === null ? null : TUNED_OF_A_GROUP,
    comparisons: compared.pairs,
    response: responseView(book, { gate: compared.gate, by: request.by, where }),
    plan: stored && {
      ...stored.plan.request,
      arrangements: stored.plan.choice.arrangements,
      slots: stored.plan.slots,
      length: stored.plan.length,
    },
    tune,
    spin,
    calibrations: calibrationsOf(book, runs),
    changes: edits.map((edit) => reportChange(book, edit)),
    setUp: texts.join("\n\n"),
  };
}

export interface BookReport {
  readonly html: string;
  /** Car and day, in characters that are safe in a file name. */
  readonly name: string;
}

/** `tuning`: computes advice and the replay; in this thread unless given. */
export async function reportOf(book: Book, request: ReportRequest, tuning: Tuned = tuningInline(book)): Promise<BookReport> {
  const input = await reportInput(book, request, tuning);
  return {
    html: reportHtml(input, unitsNamed(request.units)),
    name: nameForPath([input.car, input.day ?? "undated", ...(input.only?.where ?? [])].join(" "), "report"),
  };
}
