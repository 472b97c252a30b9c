/**
 * The form of a plan: filled from the present plan, from the book's data or from a proposed test; and the request made from it. Why a plan
 * is refused is shown in it.
 */
import type { PlanView } from "../../../shared/contract/judge-views.ts";
import type { PlanRequest } from "../../../shared/judge/plan.ts";
import { el, setText } from "../../screen/dom.ts";
import { keyButton } from "../../screen/key-hints.ts";
import type { KeyMap } from "../../screen/key-map.ts";
import type { ProposedTest } from "../../screen/page.ts";
import {
  createPlanFields,
  groupNames,
  inputsOf,
  markField,
  type PlanFields,
  readPlan,
  typed,
  writeGroups,
  writePlan,
} from "./plan-fields.ts";
import { hopedRefusal, type PlanRefusal } from "./plan-refusal.ts";

export interface PlanForm {
  readonly element: HTMLElement;
  /** Fills the fields from the book's data, and again when the present plan changes. */
  fill(view: PlanView): void;
  /** Puts in the values of a test; length, run-off and the rest stay. */
  propose(test: ProposedTest): void;
  /** The JSON of a plan file. */
  request(): Record<string, unknown>;
  groups(): string[];
  runsPerGroup(): number | null;
  differenceS(): number | null;
  gate(): string;
  nextGate(): string;
  /** Makes it the plan's gate. */
  setGate(name: string): void;
  /** An error in a field that is in no request; null when there is none. */
  wrong(): PlanRefusal | null;
  /** Shows the reason below the usable length and marks the wrong field; null removes both. */
  refuse(refusal: PlanRefusal | null): void;
}

const FIRST_GATE = "0-60 mph";
const isOff = (label: string) => /\boff$/i.test(label);

/** Without a plan: the book's labels, those without control first. */
const proposedGroups = (labels: readonly string[]) => [...labels.filter(isOff), ...labels.filter((label) => !isOff(label))].slice(0, 2);

interface GateChoice {
  readonly button: HTMLButtonElement;
  now(): string;
  set(name: string): void;
  /** The existing gates; a removed gate that was chosen is replaced. */
  offer(names: readonly string[]): void;
  next(): void;
}

function createGateChoice(keys: KeyMap, onPress: () => void): GateChoice {
  const button = keyButton(keys, "0\u201360 mph", "plan.gate", onPress);
  let gates: readonly string[] = [FIRST_GATE];
  let gate = FIRST_GATE;
  const set = (name: string) => {
    gate = name;
    setText(button.firstElementChild as Element, name.replace(/(\d)-(\d)/, "$1\u2013$2"));
  };
  return {
    button,
    now: () => gate,
    set,
    offer(names) {
      gates = names;
      if (!gates.includes(gate)) set(gates.find((name) => name === FIRST_GATE) ?? gate);
    },
    next: () => set(gates[(gates.indexOf(gate) + 1) % gates.length] ?? gate),
  };
}

function layOut(fields: PlanFields, gate: HTMLElement, own: HTMLElement, reason: HTMLElement): HTMLFormElement {
  const { groups, runs, length, runOff, directions, charge, motor, wait, hoped, wet, free } = fields;
  const freeWords = el("span", {}, "First group runs without control");
  const form = el(
    "form",
    { class: "plan-form", autocomplete: "off" },
    el("div", { class: "fields names" }, ...groups.slice(0, 2).map(({ label }) => label)),
    el("div", { class: "fields gate" }, runs.label, el("label", { class: "narrow" }, "Gate", gate), el("div", { class: "narrow" }, own)),
    el("div", { class: "fields length" }, length.label, runOff.label),
    reason,
    el("div", { class: "fields" }, ...directions.map(({ label }) => label), wait.label, hoped.label),
    el("div", { class: "fields limits" }, ...charge.map(({ label }) => label), motor.label, groups[2]?.label ?? ""),
    el("div", { class: "fields ticks" }, el("label", { class: "row" }, free, freeWords), el("label", { class: "row" }, wet, "Wet")),
  );
  form.addEventListener("submit", (event) => event.preventDefault());
  return form;
}

/** `onOwn` asks for own gates. */
export function createPlanForm(keys: KeyMap, onChange: () => void, onOwn: () => void): PlanForm {
  const fields = createPlanFields();
  const reason = el("p", { class: "refused", role: "alert", hidden: true });
  const gate = createGateChoice(keys, () => form.nextGate());
  let filled = false;
  let inForce = "";
  /** Limits of the present plan that have no field here are kept. */
  let otherHold: PlanRequest["hold"] = {};
  for (const input of inputsOf(fields)) input.addEventListener("change", onChange);

  const form: PlanForm = {
    element: layOut(fields, gate.button, keyButton(keys, "Own gates", "plan.own", onOwn), reason),
    fill(view) {
      gate.offer(view.gates);
      const plan = JSON.stringify(view.plan?.request ?? null);
      // After an undo, or a change in another window, the fields must not show a plan that is not the present one.
      if (filled && (view.plan === null || plan === inForce)) return;
      filled = true;
      inForce = plan;
      const request: Partial<PlanRequest> = view.plan?.request ?? {};
      const groups = request.groups ?? proposedGroups(view.labels);
      const first = groups[0] ?? "";
      writeGroups(fields, groups);
      fields.free.checked = request.withoutControl?.includes(first) ?? isOff(first);
      gate.set(request.gates?.[0] ?? FIRST_GATE);
      if (view.plan !== null) otherHold = writePlan(fields, view.plan.request);
    },
    propose({ groups, runsPerGroup, gate: wanted, hopedS, wet = fields.wet.checked }) {
      fields.wet.checked = wet;
      writeGroups(fields, groups);
      fields.free.checked = false;
      fields.runs.input.value = String(runsPerGroup);
      fields.hoped.input.value = hopedS === null ? "" : hopedS.toFixed(2);
      gate.set(wanted);
    },
    request: () => readPlan(fields, gate.now(), otherHold),
    groups: () => groupNames(fields),
    runsPerGroup() {
      const value = typed(fields.runs.input.value);
      return typeof value === "number" && Number.isInteger(value) && value >= 2 && value <= 100 ? value : null;
    },
    differenceS() {
      const value = typed(fields.hoped.input.value);
      return typeof value === "number" && hopedRefusal(value) === null ? value : null;
    },
    wrong: () => hopedRefusal(typed(fields.hoped.input.value)),
    gate: gate.now,
    nextGate() {
      gate.next();
      onChange();
      return gate.now();
    },
    setGate(name) {
      gate.set(name);
      onChange();
    },
    refuse(refusal) {
      reason.hidden = refusal === null;
      setText(reason, refusal?.words ?? "");
      markField(fields, refusal?.field ?? null);
    },
  };
  return form;
}
