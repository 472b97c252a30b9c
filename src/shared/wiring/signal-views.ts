/**
 * Signals and roles as the Wiring screen shows them: present value, a small trace, and whether the driving so far confirms or contradicts
 * each choice. Pure; what is unknown is null or said in words.
 */
import { type CarFacts, checkRole, type RoleCheck } from "../signals/check-role.ts";
import { bindRole, isListRole, RoleError, roleValue } from "../signals/role-binding.ts";
import { SURVEY_STEP_S, type SurveyedSignal } from "../signals/signal-survey.ts";
import { LIST_ROLES, type ListRole, REQUIRED_ROLES, SINGLE_ROLES, type SingleRole } from "../setup/roles.ts";
import type { RoleChoices, SignalChoice } from "../setup/set-up.ts";
import type { RoleMemory } from "./role-memory.ts";
import { type RoleSuggestion, suggestRoles } from "./suggest-roles.ts";
import { NS_PER_S } from "../kernel/units.ts";
import type { WiringTap } from "./wiring-tap.ts";
import { TRACE_POINTS, TRACE_S } from "./trace-step.ts";

export type RoleName = SingleRole | ListRole;
/** In the order in which people assign them. */
export const ROLE_NAMES: readonly RoleName[] = [
  ...REQUIRED_ROLES,
  ...LIST_ROLES,
  ...(Object.keys(SINGLE_ROLES) as SingleRole[]).filter((role) => !(REQUIRED_ROLES as readonly string[]).includes(role)),
];

/** A signal in the list that people search. */
export interface SignalView {
  readonly signal: string;
  readonly unit: string;
  /** In the file's unit; null while unknown. */
  readonly value: number | null;
  readonly label: string | null;
  readonly silentS: number | null;
  readonly min: number | null;
  readonly max: number | null;
  /** The last half minute, oldest first. */
  readonly trace: readonly (number | null)[];
  /** Why the signal is suggested; null where it is not. */
  readonly suggested: { readonly invert: boolean; readonly score: number; readonly why: string } | null;
}

export interface CheckView {
  readonly mark: "tick" | "triangle" | "dots" | "dash" | "none";
  readonly words: string;
  readonly why: string;
  readonly reversed: boolean;
}

export interface RoleView {
  readonly role: RoleName;
  readonly needed: boolean;
  readonly list: boolean;
  readonly signals: readonly (SignalView & { readonly invert: boolean; readonly check: CheckView })[];
}

const SILENT_S = 1.5;
const MOST_FOUND = 40;
const UNKNOWN_SIGNAL = { value: null, label: null, silentS: null, min: null, max: null, trace: [], suggested: null, unit: "" };

const known = (value: number) => (Number.isFinite(value) ? value : null);

/** The last value of each stretch: a value that really was there, never a mean. */
function shortTrace(trace: Float32Array): (number | null)[] {
  const steps = Math.round(TRACE_S / SURVEY_STEP_S);
  const per = steps / TRACE_POINTS;
  const recent = trace.subarray(Math.max(0, trace.length - steps));
  const points: (number | null)[] = [];
  for (let from = 0; from < recent.length; from += per) {
    let last: number | null = null;
    for (let i = from; i < Math.min(recent.length, from + per); i += 1) last = known(recent[i]) ?? last;
    points.push(last);
  }
  return points;
}

function viewOf(seen: SurveyedSignal, nowNs: number, suggested: RoleSuggestion | null): SignalView {
  const silentS = Number.isNaN(seen.lastArrivalNs) ? null : Math.max(0, (nowNs - seen.lastArrivalNs) / NS_PER_S);
  const fresh = silentS !== null && silentS < SILENT_S;
  return {
    signal: seen.decoder.name,
    unit: seen.decoder.signal.unit,
    value: fresh ? known(seen.last) : null,
    label: fresh ? seen.label : null,
    silentS,
    min: known(seen.min),
    max: known(seen.max),
    trace: shortTrace(seen.trace),
    suggested: suggested === null ? null : { invert: suggested.invert, score: suggested.score, why: suggested.why },
  };
}

const NO_FACTS: RoleCheck = { verdict: "cannot tell yet", why: "needs the car\u2019s ratio, tyre and mass first" };

/** All traces, unpacked once for a whole view: unpacking is most of its cost. */
interface Seen {
  readonly tap: WiringTap;
  readonly signals: readonly SurveyedSignal[];
  readonly groundSpeed: Float32Array;
}

const lookAt = (tap: WiringTap, only?: ReadonlySet<string>): Seen => ({
  tap,
  signals: tap.survey.signals(only),
  groundSpeed: tap.survey.groundSpeed(),
});

const choicesOf = (chosen: RoleChoices, role: RoleName): readonly SignalChoice[] => {
  const choice = chosen[role];
  return choice === undefined ? [] : Array.isArray(choice) ? (choice as readonly SignalChoice[]) : [choice as SignalChoice];
};

/** Names of the signals that play any role. */
export const chosenSignals = (chosen: RoleChoices): ReadonlySet<string> =>
  new Set(ROLE_NAMES.flatMap((role) => choicesOf(chosen, role).map(({ signal }) => signal)));

/** Keeps what the driving so far confirms of every choice. A signal that cannot play its role is left out. */
export function watchRoles(tap: WiringTap, chosen: RoleChoices, facts: CarFacts, memory: RoleMemory): void {
  const seen = lookAt(tap, chosenSignals(chosen));
  for (const role of ROLE_NAMES)
    for (const choice of choicesOf(chosen, role))
      if (canPlay(tap, role, choice.signal)) memory.settle(role, choice, facts, checkSeen(seen, role, choice, facts));
}

/** What the driving so far says about one choice. Throws RoleError where the signal cannot play the role at all. */
export function checkChoice(tap: WiringTap, role: RoleName, choice: SignalChoice, facts: CarFacts | null): RoleCheck {
  return checkSeen(lookAt(tap), role, choice, facts);
}

function checkSeen({ tap, signals, groundSpeed }: Seen, role: RoleName, choice: SignalChoice, facts: CarFacts | null): RoleCheck {
  const binding = bindRole(tap.database, role, choice);
  if (facts === null) return NO_FACTS;
  const seen = signals.find(({ decoder }) => decoder === binding.decoder);
  const values = Float64Array.from(seen?.trace ?? [], (value) => roleValue(binding, value));
  return checkRole(role, values, binding.conversion.unit, groundSpeed, facts);
}

const number = (value: number) =>
  (Math.abs(value) >= 100 ? value.toFixed(0) : Number(value.toPrecision(3)).toString()).replace("-", "\u2212");

function seenWords(role: RoleName, view: SignalView): Pick<CheckView, "mark" | "words"> {
  const isFlag = !isListRole(role) && SINGLE_ROLES[role] === "";
  if (view.min === null || view.max === null) return { mark: "dash", words: "never seen on the bus" };
  if (view.silentS !== null && view.silentS >= SILENT_S) return { mark: "dash", words: `silent for ${view.silentS.toFixed(0)} s` };
  if (isFlag)
    return view.min === view.max
      ? { mark: "dots", words: view.max > 0 ? "only on seen yet" : "not seen on yet" }
      : { mark: "tick", words: "on and off seen" };
  return { mark: "tick", words: `${number(view.min)} to ${number(view.max)} ${view.unit} seen` };
}

const CHECKED_BY_DRIVE: ReadonlySet<RoleName> = new Set<RoleName>([
  "motorSpeed",
  "torqueRequest",
  "torqueCommand",
  "torqueDelivered",
  "pedal",
  ...LIST_ROLES,
]);

function checkWords(role: RoleName, view: SignalView, check: RoleCheck): CheckView {
  const reversed = check.reason === "reversed";
  const seen = seenWords(role, view);
  if (check.verdict === "refused") {
    const words = reversed ? "sign reversed" : check.reason === "ratio" ? "wrong ratio or unit" : "does not follow";
    return { mark: "triangle", words, why: check.why, reversed };
  }
  if (seen.mark === "dash" || !CHECKED_BY_DRIVE.has(role) || role === "pedal") {
    const waits = role === "pedal" && check.verdict === "cannot tell yet" && seen.mark === "tick";
    return { ...seen, mark: waits ? "dots" : seen.mark, why: check.why, reversed };
  }
  if (check.verdict === "cannot tell yet") return { mark: "dots", words: "needs a gentle drive", why: check.why, reversed };
  const isTorque = !isListRole(role) && SINGLE_ROLES[role] === "Nm";
  return { mark: "tick", words: isTorque ? "follows the drive" : "agrees with ground", why: check.why, reversed };
}

/** What is shown, and against what. */
interface Looked {
  readonly all: Seen;
  readonly facts: CarFacts | null;
  readonly memory: RoleMemory;
  readonly nowNs: number;
}

function roleView({ all, facts, memory, nowNs }: Looked, role: RoleName, choices: readonly SignalChoice[]): RoleView {
  return {
    role,
    needed: (REQUIRED_ROLES as readonly string[]).includes(role),
    list: isListRole(role),
    signals: choices.map((choice) => {
      const seen = all.signals.find(({ decoder }) => decoder.name === choice.signal);
      const view = seen === undefined ? { signal: choice.signal, ...UNKNOWN_SIGNAL } : viewOf(seen, nowNs, null);
      const turned =
        choice.invert && view.value !== null
          ? { ...view, value: 0 - view.value, trace: view.trace.map((value) => (value === null ? null : 0 - value)) }
          : view;
      try {
        const now = checkSeen(all, role, choice, facts);
        const settled = facts === null ? now : memory.settle(role, choice, facts, now);
        return { ...turned, invert: choice.invert, check: checkWords(role, view, settled) };
      } catch (error) {
        if (!(error instanceof RoleError)) throw error;
        return {
          ...turned,
          invert: choice.invert,
          check: { mark: "triangle" as const, words: "cannot be used", why: error.message, reversed: false },
        };
      }
    }),
  };
}

/** Every role with its signals, required roles first. */
export function viewRoles(tap: WiringTap, chosen: RoleChoices, { facts, memory, nowNs }: Omit<Looked, "all">): RoleView[] {
  const looked = { all: lookAt(tap), facts, memory, nowNs };
  return ROLE_NAMES.map((role) => roleView(looked, role, choicesOf(chosen, role)));
}

/** Signals whose name or unit contains every word of `text`; those suggested for the role come first. */
export function findSignals(tap: WiringTap, role: RoleName, text: string, facts: CarFacts | null, nowNs: number): SignalView[] {
  const words = text
    .toLowerCase()
    .split(/\s+/)
    .filter((word) => word !== "");
  const signals = tap.survey.signals();
  const all = facts === null ? null : suggestRoles(signals, tap.survey.groundSpeed(), facts);
  const suggestions = all !== null && role in all ? all[role as keyof typeof all] : [];
  const rank = (name: string) => suggestions.findIndex(({ signal }) => signal === name);
  const fits = (seen: SurveyedSignal) => {
    const where = `${seen.decoder.name} ${seen.decoder.signal.unit}`.toLowerCase();
    return words.every((word) => where.includes(word)) && canPlay(tap, role, seen.decoder.name);
  };
  return signals
    .filter(fits)
    .map((seen) => ({ seen, at: rank(seen.decoder.name) }))
    .sort((a, b) => (a.at < 0 ? MOST_FOUND : a.at) - (b.at < 0 ? MOST_FOUND : b.at) || Math.sign(b.seen.count) - Math.sign(a.seen.count))
    .slice(0, MOST_FOUND)
    .map(({ seen, at }) => viewOf(seen, nowNs, suggestions[at] ?? null));
}

function canPlay(tap: WiringTap, role: RoleName, signal: string): boolean {
  try {
    bindRole(tap.database, role, { signal, invert: false });
    return true;
  } catch (error) {
    if (error instanceof RoleError) return false;
    throw error;
  }
}
