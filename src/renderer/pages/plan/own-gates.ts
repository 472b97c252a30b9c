/** Gates of one's own: those there are, and a new one by its two ends with their units. What cannot be a gate stays in the dialog with what would be. */
import type { GatesEdited } from "../../../shared/contract/wiring-contract.ts";
import type { PlanView } from "../../../shared/contract/judge-views.ts";
import { KMH_PER_MPS } from "../../../shared/kernel/units.ts";
import { type Gate, gateEnds } from "../../../shared/launch/gate.ts";
import { openAsking } from "../../screen/asking-dialog.ts";
import { el, setText } from "../../screen/dom.ts";
import { number } from "../../screen/format.ts";
import type { Frame } from "../../screen/page.ts";
import { gateAsked, gateAskedWords } from "./gate-asked.ts";

const SPEED_UNITS = ["km/h", "mph", "m/s"];
const LENGTH_UNITS = ["m", "ft", "mile"];

const kmh = (mps: number) => number(mps * KMH_PER_MPS, 1);

function wordsOf(gate: Gate): string {
  const { fromMps, to } = gateEnds(gate);
  const from = fromMps === null ? "from standing" : `from ${kmh(fromMps)} km/h`;
  if (to.what === "standing") return `${from} to a stop`;
  if (to.what === "distance") return `${from} over ${number(to.m, 1)} m`;
  return fromMps === null ? `${from} to ${kmh(to.mps)} km/h` : `rolling, ${kmh(fromMps)} to ${kmh(to.mps)} km/h`;
}

function end(name: string, value: string, units: readonly string[]) {
  const input = el("input", { type: "text", inputmode: "decimal", autocomplete: "off", maxlength: 12 });
  input.value = value;
  const unit = el("select", { "aria-label": `Unit of ${name}` }, ...units.map((each) => el("option", { value: each }, each)));
  // A list of choices keeps Enter for itself; here it means what the solid button says, as everywhere.
  unit.addEventListener("keydown", (event) => {
    if (event.key !== "Enter") return;
    event.preventDefault();
    unit.form?.requestSubmit();
  });
  return { input, unit, element: el("div", { class: "gate-end" }, el("label", {}, name, input), unit) };
}

/** `done` is told the gate that was added, or null where one was taken away. */
export function askOwnGates(frame: Frame, view: PlanView, done: (name: string | null) => Promise<void>): void {
  const { bridge } = frame;
  const from = end("From", "0", SPEED_UNITS);
  const to = end("To", "", [...SPEED_UNITS, ...LENGTH_UNITS]);
  const name = el("input", { type: "text", autocomplete: "off", maxlength: 60 });
  // 40 mph to 70 means mph, until the other end is given a unit of its own.
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
    if (to.input.value.trim() === "") return "To: expected where it ends, such as 80 km/h or 100 m";
    return keep(`Gate ${gate.name} is timed`, bridge.request("gates.add", gate), gate.name);
  }

  const busy = "Timing the stored runs\u2026";
  const rows = view.ownGates.map((gate) => {
    const away = el("button", { type: "button" }, "Take away");
    away.setAttribute("aria-label", `Take ${gate.name} away`);
    away.addEventListener("click", () =>
      dialog.run(
        () =>
          keep(`Gate ${gate.name} taken away`, bridge.request("gates.own", { gates: view.ownGates.filter((own) => own !== gate) }), null),
        busy,
      ),
    );
    return el("li", {}, el("span", {}, el("b", {}, gate.name), ` ${wordsOf(gate)}`), away);
  });
  const dialog = openAsking(
    {
      title: "Gates of your own",
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
