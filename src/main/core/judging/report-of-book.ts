/** Gathers a book's day for the report: runs, verdict, losses and advice, plan, calibrations, changes by hand, set-up. What cannot be compared leaves the verdict out; the page says so. */
import { CompareError } from "../../../shared/judge/compare.ts";
import { reportHtml } from "../../../shared/report/report-html.ts";
import type { ReportCalibration, ReportChange, ReportInput, ReportRun } from "../../../shared/report/report-input.ts";
import type { Flag } from "../../../shared/run/run.ts";
import type { TuneAnswer } from "../../../shared/tune/tune-answer.ts";
import type { Book, Edit, StoredRun } from "../../ports/book.ts";
import type { TuneAsked } from "../../ports/tuning.ts";
import { adviseBook } from "./advise-book.ts";
import { nameForPath } from "../../../shared/kernel/file-name.ts";
import { type CompareRequest, compareView } from "./compare-book.ts";
import { parseSetUp } from "../../../shared/setup/set-up-text.ts";
import { currentPlan } from "./test-plan.ts";
import { toldFlags } from "../library/told-flags.ts";

type Advised = (asked: TuneAsked) => Promise<TuneAnswer>;

export interface ReportRequest extends CompareRequest {
  readonly softwareVersion: string;
  readonly utcUs: number;
}

const iso = (utcMs: number | null) => (utcMs === null ? null : new Date(utcMs).toISOString());
const dayFormat = new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "long", year: "numeric", timeZone: "UTC" });

/** "4 May 2031", or from the first to the last day; null where no run is dated. */
function dayOf(runs: readonly StoredRun[]): string | null {
  const dated = runs.flatMap(({ figures }) => (figures.startedAtUtcMs === null ? [] : [figures.startedAtUtcMs]));
  if (dated.length === 0) return null;
  const [first, last] = [Math.min(...dated), Math.max(...dated)].map((at) => dayFormat.format(at));
  return first === last ? (first as string) : `${first} to ${last}`;
}

function reportRun(run: StoredRun, flags: readonly Flag[]): ReportRun {
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

/** What stood before or after, as a person reads it. */
function words(value: unknown): string {
  if (value === null || value === undefined) return "";
  if (typeof value !== "object") return typeof value === "boolean" ? (value ? "yes" : "no") : String(value);
  if ("use" in value && "note" in value) return `${value.use === true ? "used" : "set aside"}${value.note === "" ? "" : `: ${value.note}`}`;
  if (Array.isArray(value)) return value.map((item) => (item as { name?: unknown }).name ?? words(item)).join(", ");
  return Object.entries(value)
    .map(([key, part]) => `${key}: ${words(part) || "nothing"}`)
    .join(", ");
}

function change({ run, what, before, after, utcUs }: Edit): ReportChange {
  return { at: iso(utcUs / 1000), run, what: what.replace(/^setting /, ""), before: words(before), after: words(after) };
}

async function reportInput(book: Book, request: ReportRequest, advised: Advised): Promise<ReportInput> {
  const runs = book.runs();
  const told = toldFlags(book);
  const recordings = book.recordings();
  const texts = [...new Set(recordings.map((recording) => recording.setUp.text))];
  const cars = [...new Set(texts.map((text) => parseSetUp(text, "Set-up in the book").car.name))];
  const compared = compareView(book, request);
  const tune = await advised({ gate: request.gate });
  // Asked for by name, a comparison that cannot be made is the caller's to mend; unasked, the page says that there is none yet.
  if (compared.why !== null && request.groups !== undefined) throw new CompareError(compared.why);
  const stored = currentPlan(book);
  const edits = [...book.edits(null), ...runs.flatMap((run) => book.edits(run.id))].sort((x, y) => x.utcUs - y.utcUs);
  return {
    car: cars.join(", ") || "no car yet",
    day: dayOf(runs),
    simulated: recordings.some((recording) => recording.origin === "simulated"),
    softwareVersion: request.softwareVersion,
    writtenAt: iso(request.utcUs / 1000) as string,
    runs: runs.map((run) => reportRun(run, told(run))),
    comparisons: compared.pairs,
    plan: stored && {
      ...stored.plan.request,
      arrangements: stored.plan.choice.arrangements,
      slots: stored.plan.slots.map((slot) => slot.group),
      neededM: stored.plan.length.neededM,
    },
    tune,
    calibrations: calibrationsOf(book, runs),
    changes: edits.map(change),
    setUp: texts.join("\n\n"),
  };
}

export interface BookReport {
  readonly html: string;
  /** Car and day, safe in a file name. */
  readonly name: string;
}

/** `advised`: where advice is worked out; here, unless told otherwise. */
export async function reportOf(
  book: Book,
  request: ReportRequest,
  advised: Advised = (asked) => adviseBook(book, asked),
): Promise<BookReport> {
  const input = await reportInput(book, request, advised);
  return { html: reportHtml(input), name: nameForPath(`${input.car} ${input.day ?? "undated"}`, "report") };
}
