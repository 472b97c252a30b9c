/**
 * Everything that a screen may ask of the core, and everything that the core tells a screen. Requests are checked here, once, at the edge;
 * answers and events are typed. Columns travel as bytes (contract/columns.ts).
 */
import * as v from "valibot";
import { type BeforeCheck, CHECK_KEYS } from "../pipeline/before-driving.ts";
import type { LiveEvent } from "../pipeline/live-view.ts";
import { ContractError } from "./contract-error.ts";
import { plainFileName } from "./plain-file-name.ts";
import { wordRecord } from "./word-record.ts";
import { LABEL_LETTERS, NOTE_LETTERS } from "./letters.ts";
import { NETWORK_REQUESTS, type NetworkAnswers, type NetworkRequestName } from "./network-contract.ts";
import { WIRING_REQUESTS, type WiringAnswers, type WiringRequestName } from "./wiring-contract.ts";
import { STRATA_FACTORS } from "../judge/judged-run.ts";
import type { Plan } from "../judge/plan.ts";
import type { RunTuneView, SpinView, TuneView } from "./tune-views.ts";
import type { CompareView, PlanChoicesView, PlanView, ReportView, ResponseView } from "./judge-views.ts";
import type { RunColumns, RunRow, RunsConditionsView, RunView } from "./run-views.ts";
import { ALL_UNITS } from "../kernel/shown-units.ts";

const runId = v.pipe(v.number(), v.integer(), v.minValue(1));
const text = v.pipe(v.string(), v.maxLength(NOTE_LETTERS));
const label = v.pipe(v.string(), v.trim(), v.maxLength(LABEL_LETTERS));
const checkKey = v.picklist(CHECK_KEYS);
/** Runs in one request. */
const MOST_EDITED = 20_000;
const someRuns = v.pipe(v.array(runId), v.minLength(1), v.maxLength(MOST_EDITED));
/** What is absent stays as it is; null removes a condition. */
const runEdit = v.strictObject({
  run: runId,
  label: v.optional(label),
  review: v.optional(v.strictObject({ use: v.boolean(), note: text })),
  conditions: v.optional(wordRecord(text, v.nullable(text))),
});
export type RunEdit = v.InferOutput<typeof runEdit>;
/** Terms that all must hold for a run to be taken; none take every run. */
const where = v.optional(v.pipe(v.array(v.pipe(text, v.trim())), v.maxLength(20)));
const compared = {
  groups: v.optional(v.pipe(v.array(label), v.minLength(2), v.maxLength(8))),
  gate: v.optional(label),
  start: v.optional(v.picklist(["movement", "1 ft", "entry"])),
  by: v.optional(v.array(v.picklist(STRATA_FACTORS))),
  where,
};
/** Groups of a plan whose ways of drawing are asked for: an experiment has nine, a screening of seven settings sixteen. */
const MOST_PLANNED = 16;

/** The JSON of a plan file. Its own check (judge/check-plan-request.ts) names the wrong key. */
const planRequest = v.strictObject({ request: v.record(v.string(), v.unknown()) });

/**
 * Work that takes more than half a second: searching ports, listening to one or both, searching a bit rate, the first simulated day,
 * deriving a recording, timing stored runs by a new gate, working out where the time went.
 */
const WORK_NAMES = ["ports", "listening", "bitrate", "first-day", "closing", "gates", "lost"] as const;
export type WorkName = (typeof WORK_NAMES)[number];

/** Request name to schema of its argument. */
export const REQUESTS = {
  /** The start page's view of the day: car, book, runs, sources. */
  "book.open": v.strictObject({}),
  /** Copies the book beside itself, also while recording. */
  "book.backUp": v.strictObject({}),
  "runs.list": v.strictObject({}),
  /** A plain text to hand over when something went wrong; where the car was only where it is asked for. */
  "happened.read": v.strictObject({ withPositions: v.boolean() }),
  "run.show": v.strictObject({ run: runId }),
  /** The answer has its columns as bytes (see RunColumns). */
  "run.columns": v.strictObject({ run: runId }),
  /** What people say about runs, one or many: all of it is stored or none, and is reversed as one. */
  "runs.edit": v.strictObject({ edits: v.pipe(v.array(runEdit), v.minLength(1), v.maxLength(MOST_EDITED)) }),
  /** Notes that a flag does not count here, and why; null removes the note. */
  "run.overrule": v.strictObject({ run: runId, flag: label, note: v.nullable(text) }),
  /** Keeps a file, such as the controller's parameters, with runs by its SHA-256; `base64` of at most 4 MB. */
  "runs.file": v.strictObject({ runs: someRuns, name: plainFileName, base64: v.pipe(v.string(), v.base64(), v.maxLength(5_600_000)) }),
  /** What was noted with each of these runs. */
  "runs.conditions": v.strictObject({ runs: someRuns }),
  /** Numbers of the runs for which all terms hold, in driving order. */
  "runs.chosen": v.strictObject({ where }),
  /** What must hold before driving, as it is now. */
  "before.read": v.strictObject({}),
  /** A person drives although one check failed, and says why; null removes this. Kept with every run of this session. */
  "before.overrule": v.strictObject({ key: checkKey, note: v.nullable(text) }),
  /** A person has looked: the antenna is fixed. */
  "before.antenna": v.strictObject({ fixed: v.boolean() }),
  "drive.arm": v.strictObject({ label: v.optional(label) }),
  /** Before a launch this disarms. In a launch it ends the run, which is kept and flagged. */
  "drive.abort": v.strictObject({}),
  "drive.label": v.strictObject({ label }),
  "drive.mark": v.strictObject({ note: text }),
  /** Where absent, groups, gate and start are the book's own suggestion. */
  "compare.read": v.strictObject(compared),
  /** What the settings noted with the runs are worth at a gate, for the runs for which all terms hold. */
  "response.read": v.strictObject({ gate: v.optional(label), where }),
  /** Where the time went and what to change next; for all labelled groups where none is named. */
  "tune.read": v.strictObject({
    groups: v.optional(v.pipe(v.array(label), v.minLength(1), v.maxLength(8))),
    gate: v.optional(label),
    where,
  }),
  /** The same for one run, compared with the tyre and car of the whole book. */
  "tune.run": v.strictObject({ run: runId, gate: v.optional(label) }),
  /** The group is the one that is driven again. */
  "tune.spin": v.strictObject({ group: v.optional(label), gate: v.optional(label), where }),
  "plan.read": v.strictObject({}),
  "plan.choices": v.strictObject({
    groups: v.pipe(v.array(label), v.minLength(2), v.maxLength(MOST_PLANNED)),
    runsPerGroup: v.pipe(v.number(), v.integer(), v.minValue(2), v.maxValue(100)),
    gate: v.optional(label),
    differenceS: v.optional(v.pipe(v.number(), v.finite(), v.notValue(0))),
  }),
  /** Draws an order and stores nothing; a request with a seed gives the same order again. */
  "plan.draw": planRequest,
  /** Stores the plan and makes it the present one. */
  "plan.use": planRequest,
  /** Makes a stored plan the present one, or none. */
  "plan.current": v.strictObject({ plan: v.nullable(runId) }),
  /** The slot that this run filled will be driven again. */
  "plan.again": v.strictObject({ run: runId, again: v.boolean() }),
  /** In the units of the screen that asks. */
  "report.html": v.strictObject({ ...compared, units: v.optional(v.picklist(ALL_UNITS.map(({ name }) => name))) }),
  "ports.list": v.strictObject({}),
  "setup.read": v.strictObject({}),
  /** Cancels work that a WorkEvent marked as possible to cancel; everything is then as before it. No error where nothing is running. */
  "work.cancel": v.strictObject({ work: v.picklist(WORK_NAMES) }),
  ...WIRING_REQUESTS,
  ...NETWORK_REQUESTS,
} as const;

export type RequestName = keyof typeof REQUESTS;
export type RequestArgument<N extends RequestName> = v.InferOutput<(typeof REQUESTS)[N]>;

/** Undo works like this: every edit answers with the request that reverses it. */
export interface Edited {
  readonly undo: { readonly name: RequestName; readonly argument: unknown };
}

export interface Answers extends WiringAnswers, NetworkAnswers {
  "book.open": BookView;
  "book.backUp": { readonly file: string };
  "runs.list": readonly RunRow[];
  "happened.read": { readonly text: string };
  "run.show": RunView;
  "run.columns": RunColumns;
  "runs.edit": Edited;
  "runs.conditions": RunsConditionsView;
  "runs.chosen": readonly number[];
  "run.overrule": Edited;
  "runs.file": Edited;
  "before.read": readonly BeforeRow[];
  "before.overrule": readonly BeforeRow[];
  "before.antenna": readonly BeforeRow[];
  "drive.arm": Record<string, never>;
  "drive.abort": Record<string, never>;
  "drive.label": Record<string, never>;
  "drive.mark": Record<string, never>;
  "compare.read": CompareView;
  "response.read": ResponseView;
  "tune.read": TuneView;
  "tune.run": RunTuneView;
  "tune.spin": SpinView;
  "plan.read": PlanView;
  "plan.choices": PlanChoicesView;
  "plan.draw": Plan;
  "plan.use": Edited;
  "plan.current": Edited;
  "plan.again": Edited;
  "report.html": ReportView;
  "ports.list": readonly PortView[];
  "setup.read": SetUpView;
  "work.cancel": Record<string, never>;
}

/** One line of the list before driving; `overruled` is the note of the person who drives in spite of it. */
export interface BeforeRow extends BeforeCheck {
  readonly overruled: string | null;
}

export interface BookView {
  readonly car: string;
  readonly bookFile: string;
  /** True with the built-in simulated car: screens then say so. */
  readonly simulated: boolean;
  /** With the simulated car: one's own car as last measured, which `wiring.own` opens; null without one. */
  readonly lastCar?: { readonly car: string; readonly setUpFile: string } | null;
  readonly runs: readonly RunRow[];
  /** In the order in which the book first met them: a group's place is its mark. */
  readonly groups: readonly string[];
}

export interface PortView {
  readonly path: string;
  readonly description: string;
  /**
   * What seems to send there: "NMEA 0183 at 9600 baud", "SLCAN bus frames at 115200 baud", "silent ...", "something talks here, but not at
   * any usual baud" ...
   */
  readonly talks: string;
}

interface SetUpView {
  readonly file: string | null;
  readonly setUp: unknown;
}

export type { RunColumns, RunRow, RunView } from "./run-views.ts";
export type { LaunchState, LiveEvent, SourceHealth, SourceState } from "../pipeline/live-view.ts";

export interface RunStoredEvent {
  readonly event: "runStored";
  readonly run: RunRow;
}

/** One clear line that names the place and the remedy; it stays until its key is cleared. */
export interface NoticeEvent {
  readonly event: "notice";
  readonly key: string;
  readonly text: string | null;
}

/** Progress of work that takes more than half a second. */
export interface WorkEvent {
  readonly event: "work";
  readonly work: WorkName;
  /** What is being done; null when it is over. */
  readonly words: string | null;
  /** 0 to 1; null where the remaining work is unknown. */
  readonly share: number | null;
  readonly cancellable: boolean;
}

export type CoreEvent = LiveEvent | RunStoredEvent | NoticeEvent | WorkEvent;

/** What both hosts give to a page. `satisfies Bridge` holds on each side. */
export interface Bridge {
  request<N extends RequestName>(name: N, argument: RequestArgument<N>): Promise<Answers[N]>;
  onEvent(listener: (event: CoreEvent) => void): () => void;
  /** The address with a pass that lets this page read it once. Rejects while the host cannot be reached. */
  pass(address: string): Promise<string>;
}

/** Answers one request; the argument was checked where it came in. */
export type Answerer<N extends RequestName> = (argument: RequestArgument<N>) => Answers[N] | Promise<Answers[N]>;

/** An answer to each of these requests. A part that lacks one, or gives the wrong answer, does not compile. */
export type AnswersTo<N extends RequestName> = { readonly [K in N]: Answerer<K> };

/** Requests that a core answers. */
export type CoreRequestName = Exclude<RequestName, NetworkRequestName>;
/** Requests that a core answers without changing its set-up. */
export type FixedRequestName = Exclude<CoreRequestName, WiringRequestName>;

/** Checks an untrusted request once, at the edge. Throws ContractError that names the request and the wrong key. */
export function checkRequest(name: string, argument: unknown): { name: RequestName; argument: unknown } {
  if (!Object.hasOwn(REQUESTS, name)) throw new ContractError(`Unknown request ${JSON.stringify(name)}`);
  const known = name as RequestName;
  const result = v.safeParse(REQUESTS[known] as v.GenericSchema, argument);
  if (!result.success) {
    const issue = result.issues[0];
    const path = issue.path?.map((item) => String(item.key)).join(".") ?? "argument";
    throw new ContractError(`Request ${known}: ${path}: ${issue.message}`);
  }
  return { name: known, argument: result.output };
}
