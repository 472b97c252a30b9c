/** The fields of a plan and the request they make. What is not a number stays text, so that the core names the field at fault. */
import type { PlanView } from "../../../shared/contract/judge-views.ts";
import type { PlanRequest } from "../../../shared/judge/plan.ts";
import { el } from "../../screen/dom.ts";
import { hint } from "../../screen/key-hints.ts";
import { hopedRefusal, type PlanRefusal } from "./plan-refusal.ts";
import type { KeyMap } from "../../screen/key-map.ts";
import type { ProposedTest } from "../../screen/page.ts";

export interface PlanForm {
  readonly element: HTMLElement;
  /** Fills the fields from what the book knows, and again whenever another plan is in force. */
  fill(view: PlanView): void;
  /** Puts in what a test is about; length, run-off and the rest stay as they are. */
  propose(test: ProposedTest): void;
  /** A plan file's JSON. */
  request(): Record<string, unknown>;
  groups(): string[];
  runsPerGroup(): number | null;
  differenceS(): number | null;
  gate(): string;
  nextGate(): string;
  /** Makes it the plan's gate. */
  setGate(name: string): void;
  /** What is wrong with a field that is in no request; null when nothing is. */
  wrong(): PlanRefusal | null;
  /** The reason beneath the usable length, and the field at fault marked; null takes both away. */
  refuse(refusal: PlanRefusal | null): void;
}

interface Field {
  readonly label: HTMLElement;
  readonly input: HTMLInputElement;
}

function field(name: string, value: string, numeric: boolean, unit = ""): Field {
  const input = el("input", { type: "text", autocomplete: "off", ...(numeric ? { inputmode: "decimal" } : {}) });
  input.value = value;
  const words = unit === "" ? name : `${name}, ${unit}`;
  return { input, label: el("label", { class: numeric ? "narrow" : "" }, words, input) };
}

/** "900", "4,5": a number; anything else as it stands; empty: undefined. */
function typed(text: string): unknown {
  const trimmed = text.trim();
  if (trimmed === "") return undefined;
  const value = Number(trimmed.replace(",", "."));
  return Number.isFinite(value) ? value : trimmed;
}

const known = (entries: Record<string, unknown>) => Object.fromEntries(Object.entries(entries).filter(([, value]) => value !== undefined));

/** `onOwn` asks for gates of one's own. */
export function createPlanForm(keys: KeyMap, onChange: () => void, onOwn: () => void): PlanForm {
  const groups = [field("First group", "", false), field("Second group", "", false), field("Third group", "", false)];
  const runs = field("Runs a group", "6", true);
  const length = field("Usable length", "", true, "m");
  const runOff = field("Run-off beyond ends and to the sides", "", false);
  const directions = [field("Driven out as", "outbound", false), field("and back as", "back", false)];
  const charge = [field("Charge min", "", true, "%"), field("max", "", true, "%")];
  const motor = field("Motor below", "", true, "°C");
  const wait = field("Wait", "0", true, "s");
  const hoped = field("Hoped for", "", true, "s");
  const wet = el("input", { type: "checkbox" });
  const free = el("input", { type: "checkbox" });
  const freeWords = el("span", {}, "First group runs without control");
  const reason = el("p", { class: "refused", role: "alert", hidden: true });
  const gateButton = el("button", { type: "button" }, el("span", {}, "0\u201360 mph"), hint(keys, "plan.gate"));
  const ownButton = el("button", { type: "button" }, el("span", {}, "Own gates"), hint(keys, "plan.own"));
  let gates: readonly string[] = ["0-60 mph"];
  let gate = "0-60 mph";
  let filled = false;
  let inForce = "";
  /** Windows of the plan in force that have no field here are kept. */
  let otherHold: PlanRequest["hold"] = {};

  for (const { input } of [...groups, runs, length, runOff, ...directions, ...charge, motor, wait, hoped])
    input.addEventListener("change", onChange);
  for (const box of [wet, free]) box.addEventListener("change", onChange);

  const names = () => groups.map(({ input }) => input.value.trim()).filter((name) => name !== "");
  const setGate = (name: string) => {
    gate = name;
    (gateButton.firstElementChild as Element).textContent = name.replace(/(\d)-(\d)/, "$1\u2013$2");
  };

  const form: PlanForm = {
    element: el(
      "form",
      { class: "plan-form", autocomplete: "off" },
      el("div", { class: "fields names" }, ...groups.slice(0, 2).map(({ label }) => label)),
      el(
        "div",
        { class: "fields gate" },
        runs.label,
        el("label", { class: "narrow" }, "Gate", gateButton),
        el("div", { class: "narrow" }, ownButton),
      ),
      el("div", { class: "fields length" }, length.label, runOff.label),
      reason,
      el("div", { class: "fields" }, ...directions.map(({ label }) => label), wait.label, hoped.label),
      el("div", { class: "fields wide" }, el("label", { class: "row" }, free, freeWords), ...charge.map(({ label }) => label)),
      el("div", { class: "fields wide" }, el("label", { class: "row" }, wet, "Wet"), motor.label, groups[2]?.label ?? ""),
    ),
    fill(view) {
      gates = view.gates;
      // A gate of one's own that was taken away.
      if (!gates.includes(gate)) setGate(gates.find((name) => name === "0-60 mph") ?? gate);
      const plan = JSON.stringify(view.plan?.request ?? null);
      // Undone, or changed in another window: the fields must not stand for a plan that is not.
      if (filled && (view.plan === null || plan === inForce)) return;
      filled = true;
      inForce = plan;
      const request: Partial<PlanRequest> = view.plan?.request ?? {};
      const labels =
        request.groups ??
        [...view.labels.filter((label) => /\boff$/i.test(label)), ...view.labels.filter((label) => !/\boff$/i.test(label))].slice(0, 2);
      groups.forEach(({ input }, i) => {
        input.value = labels[i] ?? "";
      });
      free.checked =
        request.withoutControl !== undefined ? request.withoutControl.includes(labels[0] ?? "") : /\boff$/i.test(labels[0] ?? "");
      setGate(request.gates?.[0] ?? "0-60 mph");
      if (view.plan === null) return;
      const { runsPerGroup, usableLengthM, runOffNote, leastWaitS, hold, directionNames } = view.plan.request;
      runs.input.value = String(runsPerGroup);
      length.input.value = String(usableLengthM);
      runOff.input.value = runOffNote;
      wait.input.value = String(leastWaitS);
      wet.checked = view.plan.request.wet;
      directions.forEach(({ input }, i) => {
        input.value = directionNames?.[i] ?? input.value;
      });
      const { stateOfCharge: _charge, motorTemperature: _motor, ...rest } = hold;
      otherHold = rest;
      motor.input.value = String(hold.motorTemperature?.high ?? "");
      charge.forEach(({ input }, i) => {
        input.value = String((i === 0 ? hold.stateOfCharge?.low : hold.stateOfCharge?.high) ?? "");
      });
    },
    propose({ groups: names, runsPerGroup, gate: wanted, hopedS }) {
      groups.forEach(({ input }, i) => {
        input.value = names[i] ?? "";
      });
      free.checked = false;
      runs.input.value = String(runsPerGroup);
      hoped.input.value = hopedS.toFixed(2);
      setGate(wanted);
    },
    request() {
      const window = known({ low: typed(charge[0]?.input.value ?? ""), high: typed(charge[1]?.input.value ?? "") });
      const below = typed(motor.input.value);
      const hold = known({
        ...otherHold,
        stateOfCharge: Object.keys(window).length === 0 ? undefined : window,
        motorTemperature: below === undefined ? undefined : { high: below },
      });
      return known({
        groups: names(),
        // Empty is no six: it is said.
        runsPerGroup: typed(runs.input.value) ?? "",
        gates: [gate],
        usableLengthM: typed(length.input.value),
        directionNames: directions.map(({ input }) => input.value.trim()),
        withoutControl: free.checked ? names().slice(0, 1) : [],
        wet: wet.checked,
        runOffNote: runOff.input.value.trim(),
        hold,
        leastWaitS: typed(wait.input.value),
      });
    },
    groups: names,
    runsPerGroup() {
      const value = typed(runs.input.value);
      return typeof value === "number" && Number.isInteger(value) && value >= 2 && value <= 100 ? value : null;
    },
    differenceS() {
      const value = typed(hoped.input.value);
      return typeof value === "number" && hopedRefusal(value) === null ? value : null;
    },
    wrong: () => hopedRefusal(typed(hoped.input.value)),
    gate: () => gate,
    nextGate() {
      setGate(gates[(gates.indexOf(gate) + 1) % gates.length] ?? gate);
      onChange();
      return gate;
    },
    setGate(name) {
      setGate(name);
      onChange();
    },
    refuse(refusal) {
      reason.hidden = refusal === null;
      reason.textContent = refusal?.words ?? "";
      const at = {
        usableLengthM: [length],
        runOffNote: [runOff],
        runsPerGroup: [runs],
        leastWaitS: [wait],
        "hold.stateOfCharge": charge,
        "hold.motorTemperature": [motor],
        groups,
        directionNames: directions,
        hoped: [hoped],
      };
      for (const [key, fields] of Object.entries(at))
        for (const { input } of fields) input.setAttribute("aria-invalid", String(refusal?.field === key));
    },
  };
  form.element.addEventListener("submit", (event) => event.preventDefault());
  gateButton.addEventListener("click", () => form.nextGate());
  ownButton.addEventListener("click", onOwn);
  return form;
}
