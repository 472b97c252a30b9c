/** Car: the path of force as five stations on the ground line, fields under them, where each value is from; and the guided calibration. What cannot be saved says why beneath. */
import type { CoreEvent } from "../../../shared/contract/contract.ts";
import type { CarView } from "../../../shared/contract/wiring-contract.ts";
import { el, setText } from "../../screen/dom.ts";
import { hint, keyButton } from "../../screen/key-hints.ts";
import type { Frame, Page } from "../../screen/page.ts";
import { CAR_FIELDS, type CarField, carRefusal, carSentence, fieldText, fieldValue, fromWords } from "./car-words.ts";
import { createIntervalChart } from "./interval-chart.ts";
import { createGuidedPanel } from "./guided-panel.ts";

const LOOK_EVERY_MS = 1000;
const STATIONS = [
  ["motor", "Motor"],
  ["gear", "Gear"],
  ["axle", "Driven axle"],
  ["tyre", "Tyre"],
  ["car", "Car"],
] as const;

const phone = () => window.matchMedia("(max-width: 700px)").matches;

interface FieldRow {
  readonly field: CarField;
  readonly input: HTMLInputElement | HTMLSelectElement;
  readonly from: HTMLElement;
  readonly element: HTMLElement;
}

function createField(field: CarField): FieldRow {
  const id = `car-${field.key}`;
  const named = { id, "aria-describedby": `${id}-from` };
  const input =
    field.kind === "axle"
      ? el(
          "select",
          named,
          el("option", { value: "" }, "not said"),
          el("option", { value: "rear" }, "rear"),
          el("option", { value: "front" }, "front"),
        )
      : el("input", {
          ...named,
          type: "text",
          autocomplete: "off",
          maxlength: 60,
          ...(field.kind === "text" ? {} : { inputmode: "decimal" }),
        });
  const from = el("p", { id: `${id}-from`, class: "quiet from" });
  const label = el(
    "label",
    { for: id },
    el("span", {}, field.label, field.unit === "" ? "" : el("span", { class: "quiet" }, `, ${field.unit}`)),
  );
  const element = el("div", { class: "car-field" }, label, input, from);
  return { field, input, from, element };
}

export function createCarPage(frame: Frame): Page {
  const { bridge } = frame;
  const sentence = el("h1");
  const second = el("p", { class: "lead", role: "status" });
  const rows = CAR_FIELDS.map(createField);
  const reason = el("p", { class: "bar", hidden: true, role: "alert" });
  const torque = el("p", { class: "quiet from" }, "Torque counts at the motor\u2019s shaft, driving is positive; Wiring turns a sign.");
  const delay = el("p", { class: "quiet from" });
  const save = el("button", { type: "submit", class: "solid" }, "Save", el("kbd", {}, "Enter"));
  const again = keyButton(frame.keys, "Calibrate", "car.calibrate", () => calibrate("begin", "Calibration begins"));
  const wiring = keyButton(frame.keys, "Go to Wiring", "car.wiring", () => frame.go("wiring"));
  const guided = createGuidedPanel({
    chart: createIntervalChart(frame),
    acceptKey: hint(frame.keys, "car.accept"),
    accept: () => void calibrate("accept", "Calibration kept"),
    leave: () => void calibrate("leave", "Calibration left as it was"),
    note: (tyres, pressureKpa) => void tell(bridge.request("car.tyres", { tyres, pressureKpa })),
  });
  const stations = STATIONS.map(([key, title]) =>
    el(
      "section",
      { class: "station", "aria-label": title },
      el("h2", {}, title),
      ...(key === "motor" ? [torque] : []),
      ...rows.filter(({ field }) => field.station === key).map(({ element }) => element),
      ...(key === "tyre" ? [delay] : []),
    ),
  );
  const form = el(
    "form",
    { class: "car-form" },
    el("div", { class: "buttons edits" }, save, again, wiring),
    reason,
    el("div", { class: "stations" }, ...stations),
  );
  let view: CarView | null = null;
  let filledFrom = "";
  let timer: ReturnType<typeof setInterval> | undefined;

  const dirty = ({ field, input }: FieldRow) =>
    view !== null && input.value !== fieldText(field, (view.draft as Readonly<Record<string, unknown>>)[field.key]);

  function say(words: string | null): void {
    reason.hidden = words === null;
    setText(reason, words ?? "");
  }

  /** Shows which field is at fault, and leads there; nothing takes the mark away. */
  function mark(at?: FieldRow): void {
    for (const row of rows) row.input.setAttribute("aria-invalid", String(row === at));
    at?.input.focus();
  }

  function render(): void {
    if (view === null) return;
    const said = carSentence(view);
    setText(sentence, said.sentence);
    setText(second, said.second);
    const draft = JSON.stringify(view.draft);
    if (draft !== filledFrom) {
      filledFrom = draft;
      for (const { field, input } of rows) input.value = fieldText(field, (view.draft as Readonly<Record<string, unknown>>)[field.key]);
    }
    for (const { field, from } of rows) setText(from, fromWords(field, view));
    const found = view.calibration?.gnssDelayS;
    setText(
      delay,
      found === undefined
        ? ""
        : `Receiver delay ${(found.value * 1000).toFixed(0)} \u00b1 ${(found.plusMinus95 * 1000).toFixed(0)} ms, ${found.from}`,
    );
    setText(again.firstElementChild as Element, view.calibration?.rollingRadiusM.from === "calibrated" ? "Calibrate again" : "Calibrate");
    // While a calibration is driven only what to do next counts.
    form.hidden = view.guided !== null;
    guided.show(view);
  }

  async function tell(request: Promise<CarView>): Promise<void> {
    try {
      view = await request;
      render();
    } catch (error) {
      say(error instanceof Error ? error.message : String(error));
    }
  }

  async function look(): Promise<void> {
    try {
      view = await bridge.request("car.read", {});
      render();
    } catch (error) {
      clearInterval(timer);
      frame.fail(error);
    }
  }

  async function calibrate(step: "begin" | "accept" | "leave", done: string): Promise<void> {
    say(null);
    if (step === "accept") setText(second, "Fitting the whole drive\u2026");
    await tell(bridge.request("car.calibrate", { step }));
    frame.announce(done);
  }

  async function saveNow(): Promise<void> {
    mark();
    say(phone() ? "On a phone this screen only shows; change the car on the laptop" : null);
    if (phone()) return;
    const set: Record<string, string | number | null> = {};
    for (const row of rows.filter(dirty)) {
      const read = fieldValue(row.field, row.input.value);
      if ("wrong" in read) {
        say(read.wrong);
        mark(row);
        return;
      }
      set[row.field.key] = read.value;
    }
    if (Object.keys(set).length === 0) return say("Nothing was changed");
    if (view?.simulated === true)
      return say("The simulated car\u2019s figures are fixed, and nothing was saved: \u201cUse my own car\u201d on Wiring asks for yours");
    try {
      await frame.edit("Car saved", Promise.resolve(await bridge.request("car.save", { set })));
      await look();
    } catch (error) {
      const { words, key } = carRefusal(error instanceof Error ? error.message : String(error));
      say(words);
      mark(rows.find(({ field }) => field.key === key));
    }
  }

  form.addEventListener("submit", (event) => {
    event.preventDefault();
    void saveNow();
  });

  return {
    name: "car",
    title: "Car",
    element: el("div", { class: "page car" }, sentence, second, form, guided.element),
    acts: {
      "car.save": () => void saveNow(),
      "car.calibrate": () => view?.guided === null && void calibrate("begin", "Calibration begins"),
      "car.accept": () => view !== null && view.guided !== null && void calibrate("accept", "Calibration kept"),
      "car.wiring": () => frame.go("wiring"),
    },
    takes: () => !phone(),
    shown() {
      clearInterval(timer);
      timer = setInterval(() => void look(), LOOK_EVERY_MS);
      void look();
    },
    hidden: () => clearInterval(timer),
    onEvent(event: CoreEvent) {
      if (event.event === "runStored") render();
    },
    changed: render,
  };
}
