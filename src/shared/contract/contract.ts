/**
 * Everything a screen may ask of the core, and everything the core tells a screen. Requests are checked
 * here, once, at the edge; answers and events are typed. Columns travel as binary (contract/columns.ts).
 */
import type { RunPrint } from "../run/run-print.ts";
import * as v from "valibot";
import type { GateResult } from "../launch/gate-result.ts";
import type { Flag, SlipSummary } from "../run/run.ts";
import type { Figure } from "../align/calibration.ts";
import { type BeforeCheck, CHECK_KEYS } from "../pipeline/before-driving.ts";
import type { LiveEvent } from "../pipeline/live-view.ts";
import { ContractError } from "./contract-error.ts";
import { plainFileName } from "./plain-file-name.ts";
import { wordRecord } from "./word-record.ts";
import { LABEL_LETTERS, NOTE_LETTERS } from "./letters.ts";
import { WIRING_REQUESTS, type WiringAnswers, type WiringRequestName } from "./wiring-contract.ts";
import type { Plan } from "../judge/plan.ts";
import type { RunTuneView, TuneView } from "./tune-views.ts";
import type { CompareView, PlanChoicesView, PlanView, ReportView } from "./judge-views.ts";

const runId = v.pipe(v.number(), v.integer(), v.minValue(1));
const text = v.pipe(v.string(), v.maxLength(NOTE_LETTERS));
const label = v.pipe(v.string(), v.trim(), v.maxLength(LABEL_LETTERS));
const checkKey = v.picklist(CHECK_KEYS);
const compared = {
  groups: v.optional(v.pipe(v.array(label), v.minLength(2), v.maxLength(8))),
  gate: v.optional(label),
  start: v.optional(v.picklist(["movement", "1 ft", "entry"])),
};
/** A plan file's JSON: its own check (judge/check-plan-request.ts) names the key at fault. */
const planRequest = v.strictObject({ request: v.record(v.string(), v.unknown()) });

/** Work that takes longer than half a second: ports looked through, one or both listened to, a bit rate searched, the first simulated day, a recording derived, stored runs timed by a new gate. */
const WORK_NAMES = ["ports", "listening", "bitrate", "first-day", "closing", "gates"] as const;
export type WorkName = (typeof WORK_NAMES)[number];

/** Request name to schema of its argument. */
export const REQUESTS = {
  /** The day at a glance: car, book, runs, sources. */
  "book.open": v.strictObject({}),
  "runs.list": v.strictObject({}),
  "run.show": v.strictObject({ run: runId }),
  /** Answers with binary columns (see RunColumns). */
  "run.columns": v.strictObject({ run: runId }),
  "run.label": v.strictObject({ run: runId, label }),
  "run.review": v.strictObject({ run: runId, use: v.boolean(), note: text }),
  /** Says that a flag does not count here, and why; null takes that back. */
  "run.overrule": v.strictObject({ run: runId, flag: label, note: v.nullable(text) }),
  /** Keeps a file, such as the controller's parameters, with a run by its SHA-256; `base64` of at most 4 MB. */
  "run.file": v.strictObject({ run: runId, name: plainFileName, base64: v.pipe(v.string(), v.base64(), v.maxLength(5_600_000)) }),
  "run.conditions": v.strictObject({ run: runId, set: wordRecord(text, v.nullable(text)) }),
  /** What must hold before driving, seen now. */
  "before.read": v.strictObject({}),
  /** A person drives in spite of one, and says why; null takes that back. Kept with every run of this sitting. */
  "before.overrule": v.strictObject({ key: checkKey, note: v.nullable(text) }),
  /** A person looked: the antenna is fixed. */
  "before.antenna": v.strictObject({ fixed: v.boolean() }),
  "drive.arm": v.strictObject({ label: v.optional(label) }),
  /** Before a launch: disarms. In a launch: ends it, keeps it, flags it. */
  "drive.abort": v.strictObject({}),
  "drive.label": v.strictObject({ label }),
  "drive.mark": v.strictObject({ note: text }),
  /** Groups, gate and start are the book's own suggestion where absent. */
  "compare.read": v.strictObject(compared),
  /** Where the time went and what to change next; all labelled groups where none is named. */
  "tune.read": v.strictObject({ groups: v.optional(v.pipe(v.array(label), v.minLength(1), v.maxLength(8))), gate: v.optional(label) }),
  /** The same of one run, against the tyre and car of the whole book. */
  "tune.run": v.strictObject({ run: runId, gate: v.optional(label) }),
  "plan.read": v.strictObject({}),
  "plan.choices": v.strictObject({
    groups: v.pipe(v.array(label), v.minLength(2), v.maxLength(8)),
    runsPerGroup: v.pipe(v.number(), v.integer(), v.minValue(2), v.maxValue(100)),
    gate: v.optional(label),
    differenceS: v.optional(v.pipe(v.number(), v.finite(), v.notValue(0))),
  }),
  /** Draws by lot and keeps nothing; a request with a seed draws the same again. */
  "plan.draw": planRequest,
  /** Keeps the plan and puts it in force. */
  "plan.use": planRequest,
  /** Puts a kept plan in force, or none. */
  "plan.current": v.strictObject({ plan: v.nullable(runId) }),
  /** Has the slot that this run filled driven once more. */
  "plan.again": v.strictObject({ run: runId, again: v.boolean() }),
  "report.html": v.strictObject(compared),
  "ports.list": v.strictObject({}),
  "setup.read": v.strictObject({}),
  /** Ends work that a WorkEvent said can be cancelled: everything is then as it was before it. Nothing to cancel is no error. */
  "work.cancel": v.strictObject({ work: v.picklist(WORK_NAMES) }),
  ...WIRING_REQUESTS,
} as const;

export type RequestName = keyof typeof REQUESTS;
export type RequestArgument<N extends RequestName> = v.InferOutput<(typeof REQUESTS)[N]>;

/** Undoing works by answering every edit with the request that takes it back. */
export interface Edited {
  readonly undo: { readonly name: RequestName; readonly argument: unknown };
}

export interface Answers extends WiringAnswers {
  "book.open": BookView;
  "runs.list": readonly RunRow[];
  "run.show": RunView;
  "run.columns": RunColumns;
  "run.label": Edited;
  "run.review": Edited;
  "run.conditions": Edited;
  "run.overrule": Edited;
  "run.file": Edited;
  "before.read": readonly BeforeRow[];
  "before.overrule": readonly BeforeRow[];
  "before.antenna": readonly BeforeRow[];
  "drive.arm": Record<string, never>;
  "drive.abort": Record<string, never>;
  "drive.label": Record<string, never>;
  "drive.mark": Record<string, never>;
  "compare.read": CompareView;
  "tune.read": TuneView;
  "tune.run": RunTuneView;
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

/** One line of the list before driving; `overruled` is the note of who drives in spite of it. */
export interface BeforeRow extends BeforeCheck {
  readonly overruled: string | null;
}

export interface BookView {
  readonly car: string;
  readonly bookFile: string;
  /** True with the embedded simulated car: screens say so in words. */
  readonly simulated: boolean;
  /** With the simulated car: one's own as it was measured last, which `wiring.own` opens; null without one. */
  readonly lastCar?: { readonly car: string; readonly setUpFile: string } | null;
  readonly runs: readonly RunRow[];
}

export interface RunRow {
  readonly id: number;
  readonly uid: string;
  readonly final: boolean;
  readonly label: string;
  readonly startedAt: string | null;
  readonly courseDeg: number | null;
  /** The headline gate (0-60 mph), null when not reached. */
  readonly seconds: number | null;
  readonly plusMinus95: number | null;
  readonly flags: readonly Flag[];
  readonly use: boolean;
  readonly note: string;
  /** Print for the shelf: slip speed km/h above, torque held back Nm below, one value each 50 ms from movement; null unknown. */
  readonly print: RunPrint;
}

/** The JSON of `show RUN`. */
export interface RunView {
  readonly run: {
    readonly id: number;
    readonly uid: string;
    readonly final: boolean;
    readonly label: string;
    readonly startedAt: string | null;
    readonly courseDeg: number | null;
    readonly flags: readonly Flag[];
    readonly use: boolean;
    readonly note: string;
    readonly conditions: Readonly<Record<string, string>>;
    readonly measured: Readonly<Record<string, number | null>>;
    readonly windowFromS: number;
    readonly windowToS: number;
  };
  readonly gates: readonly GateResult[];
  readonly slip: SlipSummary;
  readonly calibration: {
    readonly id: number;
    readonly rollingRadiusM: Figure;
    readonly gnssDelayS: Figure;
    readonly notes: readonly string[];
  };
}

/** One run's aligned samples; `timeS` is 0 at start "movement"; NaN where unknown. */
export interface RunColumns {
  readonly names: readonly string[];
  readonly units: readonly string[];
  readonly columns: readonly Float32Array[];
}

export interface PortView {
  readonly path: string;
  readonly description: string;
  /** What seems to talk there: "NMEA 0183 at 9600 baud", "SLCAN bus frames at 115200 baud", "silent ...", "something talks here, but not at any usual baud" ... */
  readonly talks: string;
}

interface SetUpView {
  readonly file: string | null;
  readonly setUp: unknown;
}

export type { LaunchState, LiveEvent, SourceHealth, SourceState } from "../pipeline/live-view.ts";

export interface RunStoredEvent {
  readonly event: "runStored";
  readonly run: RunRow;
}

/** One clear line that names the place and the remedy; stays until its key is cleared. */
export interface NoticeEvent {
  readonly event: "notice";
  readonly key: string;
  readonly text: string | null;
}

/** Work of more than half a second as it goes. */
export interface WorkEvent {
  readonly event: "work";
  readonly work: WorkName;
  /** What is being done; null when it is over. */
  readonly words: string | null;
  /** 0 to 1; null where how much is left cannot be told. */
  readonly share: number | null;
  readonly cancellable: boolean;
}

export type CoreEvent = LiveEvent | RunStoredEvent | NoticeEvent | WorkEvent;

/** What both hosts give a page. `satisfies Bridge` holds on each side. */
export interface Bridge {
  request<N extends RequestName>(name: N, argument: RequestArgument<N>): Promise<Answers[N]>;
  onEvent(listener: (event: CoreEvent) => void): () => void;
  /** The address with what lets this page read it, once. Rejects while there is no way to the host. */
  pass(address: string): Promise<string>;
}

/** One request's answer: the argument was checked where it came in. */
export type Answerer<N extends RequestName> = (argument: RequestArgument<N>) => Answers[N] | Promise<Answers[N]>;

/** An answer to each of these requests; a part that forgets one, or answers it with something else, does not compile. */
export type AnswersTo<N extends RequestName> = { readonly [K in N]: Answerer<K> };

/** What a core answers whose set-up stays as it is. */
export type FixedRequestName = Exclude<RequestName, WiringRequestName>;

/** Checks an untrusted request: once, at the edge where it comes in. Throws ContractError naming the request and the key at fault. */
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
