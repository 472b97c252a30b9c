/**
 * Own gates: the existing ones, and a new one by its two ends with their units. A wrong gate stays in the dialog, with what is possible.
 */
import type { GatesEdited } from "../../../shared/contract/wiring-contract.ts";
import type { PlanView } from "../../../shared/contract/judge-views.ts";
import { type Gate, gateEnds } from "../../../shared/launch/gate.ts";
import { lengthIn, speedIn, type Units } from "../../../shared/kernel/shown-units.ts";
import { openAsking } from "../../screen/asking-dialog.ts";
import { el, setText } from "../../screen/dom.ts";
import { number, quantity } from "../../screen/format.ts";
import type { Frame } from "../../screen/page.ts";
import { units } from "../../screen/units.ts";
import { gateAsked, gateAskedWords } from "./gate-asked.ts";

/** A gate may be typed in any of them; those of this screen stand first. */
const speedUnits = ({ speed }: Units) => [...new Set([speed, "km/h", "mph", "m/s"])];
const lengthUnits = ({ length }: Units) => [...new Set([length, "m", "ft", "mile"])];

const speed = (mps: number) => number(speedIn(units(), mps), 1);

function wordsOf(gate: Gate): string {
  const { fromMps, to } = gateEnds(gate);
  const { speed: unit } = units();
  const from = fromMps === null ? "from standing" : `from ${speed(fromMps)} ${unit}`;
  if (to.what === "standing") return `${from} to a stop`;
  if (to.what === "distance") return `${from} over ${quantity(lengthIn(units(), to.m), units().length, 1)}`;
  return fromMps === null ? `${from} to ${speed(to.mps)} ${unit}` : `rolling, ${speed(fromMps)} to ${speed(to.mps)} ${unit}`;
}

function end(name: string, value: string, units: readonly string[]) {
  const input = el("input", { type: "text", inputmode: "decimal", autocomplete: "off", maxlength: 12 });
  input.value = value;
  const unit = el("select", { "aria-label": `Unit of ${name}` }, ...units.map((each) => el("option", { value: each }, each)));
  // A select element uses Enter for itself; here it means the solid button, as everywhere.
  unit.addEventListener("keydown", (event) => {
    if (event.key !== "Enter") return;
    event.preventDefault();
    unit.form?.requestSubmit();
  });
  return { input, unit, element: el("div", { class: "gate-end" }, el("label", {}, name, input), unit) };
}

/** `done` is called with the added gate, or null where one was removed. */
export function askOwnGates(frame: Frame, view: PlanView, done: (name: string | null) => Promise<void>): void {
  const { bridge } = frame;
  const from = end("From", "0", speedUnits(units()));
  const to = end("To", "", [...speedUnits(units()), ...lengthUnits(units())]);
  const name = el("input", { type: "text", autocomplete: "off", maxlength: 60 });
  // After "40 mph", 70 is in mph too, until the other end gets a unit of its own.
  let follows = true;
  to.unit.addEventListener("input", () => {
    follows = false;
  });
  from.unit.addEventListener("input", () => {
    if (follows) to.unit.value = from.unit.value;
  });
  const words = el("p", { class: "small", role: "status" });
  const asked = () =>
    gateAsked({ from: from.input.value, fromUnit: from.unit.value, to: to.input.value, toUnit: to.unit.value, name: name.value });
  const say = () => {
    name.placeholder = asked().name;
    setText(words, gateAskedWords(asked()));
  };

  async function keep(what: string, request: Promise<GatesEdited>, added: string | null): Promise<null> {
    const edited = await request;
    await frame.edit(what, Promise.resolve(edited));
    await done(added);
    return null;
  }

  async function add(): Promise<string | null> {
    const gate = asked();
    if (to.input.value.trim() === "") return `To: expected where it ends, such as 80 ${units().speed} or 100 ${units().length}`;
    return keep(`Gate ${gate.name} is timed`, bridge.request("gates.add", gate), gate.name);
  }

  const busy = "Timing the stored runs\u2026";
  const rows = view.ownGates.map((gate) => {
    const away = el("button", { type: "button" }, "Remove");
    away.setAttribute("aria-label", `Remove ${gate.name}`);
    away.addEventListener("click", () =>
      dialog.run(
        () => keep(`Gate ${gate.name} removed`, bridge.request("gates.own", { gates: view.ownGates.filter((own) => own !== gate) }), null),
        busy,
      ),
    );
    return el("li", {}, el("span", {}, el("b", {}, gate.name), ` ${wordsOf(gate)}`), away);
  });
  const dialog = openAsking(
    {
      title: "Own gates",
      content: [
        el(
          "p",
          { class: "small" },
          "Timed beside the standard gates, in the stored runs at once and in every run to come. The recording is closed for a moment.",
        ),
        ...(rows.length === 0 ? [] : [el("ul", { class: "own-gates" }, ...rows)]),
        el("div", { class: "gate-ends" }, from.element, to.element),
        words,
        el("label", {}, "Name, if another", name),
      ],
      button: "Time this gate",
      act: add,
      bridge,
    },
    busy,
  );
  for (const field of [from.input, from.unit, to.input, to.unit, name]) field.addEventListener("input", say);
  say();
  from.input.focus();
  from.input.select();
}
