/**
 * The car's fields below its five stations, and which of them a person changed. A value that cannot be read is explained below the buttons,
 * and its field is marked.
 */
import { overNetwork } from "../../bridge/over-network.ts";
import type { CarView } from "../../../shared/contract/wiring-contract.ts";
import { el, setText } from "../../screen/dom.ts";
import { keyButton } from "../../screen/key-hints.ts";
import type { KeyMap } from "../../screen/key-map.ts";
import { CAR_FIELDS, type CarField, fieldText, fieldValue, fromWords } from "./car-words.ts";

const STATIONS = [
  ["motor", "Motor"],
  ["gear", "Gear"],
  ["axle", "Driven axle"],
  ["tyre", "Tyre"],
  ["car", "Car"],
] as const;

type CarChanges = Record<string, string | number | null>;

export interface CarForm {
  readonly element: HTMLFormElement;
  /** Fills the fields when a new draft came, and says where each value comes from. */
  show(view: CarView): void;
  /** Changes from the draft, by key; null where a field cannot be read, which is explained. */
  changes(draft: CarView["draft"]): CarChanges | null;
  /** Words below the buttons; null removes them. */
  say(words: string | null): void;
  /** Marks the wrong field and moves the focus there; null: no field is wrong. */
  mark(key: string | null): void;
}

interface FieldRow {
  readonly field: CarField;
  readonly input: HTMLInputElement | HTMLSelectElement;
  readonly from: HTMLElement;
  readonly element: HTMLElement;
}

const draftText = (field: CarField, draft: CarView["draft"]) => fieldText(field, (draft as Readonly<Record<string, unknown>>)[field.key]);

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
  // On the local network it would take a value that nobody stores.
  if (input instanceof HTMLSelectElement) input.disabled = overNetwork();
  else input.readOnly = overNetwork();
  const from = el("p", { id: `${id}-from`, class: "quiet from" });
  const label = el(
    "label",
    { for: id },
    el("span", {}, field.label, field.unit === "" ? "" : el("span", { class: "quiet" }, `, ${field.unit}`)),
  );
  const element = el("div", { class: "car-field" }, label, input, from);
  return { field, input, from, element };
}

function delayWords(view: CarView): string {
  const found = view.calibration?.gnssDelayS;
  if (found === undefined) return "";
  return `Receiver delay ${(found.value * 1000).toFixed(0)} \u00b1 ${(found.plusMinus95 * 1000).toFixed(0)} ms, ${found.from}`;
}

function createStations(rows: readonly FieldRow[], delay: HTMLElement): HTMLElement[] {
  const torque = el("p", { class: "quiet from" }, "Motor-shaft torque, driving positive; reverse its sign in Wiring.");
  return STATIONS.map(([key, title]) =>
    el(
      "section",
      { class: "station", "aria-label": title },
      el("h2", {}, title),
      ...(key === "motor" ? [torque] : []),
      ...rows.filter(({ field }) => field.station === key).map(({ element }) => element),
      ...(key === "tyre" ? [delay] : []),
    ),
  );
}

export interface CarFormOptions {
  readonly keys: KeyMap;
  save(): void;
  calibrate(): void;
  toWiring(): void;
}

export function createCarForm({ keys, save, calibrate, toWiring }: CarFormOptions): CarForm {
  const rows = CAR_FIELDS.map(createField);
  const reason = el("p", { class: "bar", hidden: true, role: "alert" });
  const delay = el("p", { class: "quiet from" });
  const again = keyButton(keys, "Calibrate", "car.calibrate", calibrate);
  const wiring = keyButton(keys, "Go to Wiring", "car.wiring", toWiring);
  const saveButton = el("button", { type: "submit", class: "solid" }, "Save", el("kbd", {}, "Enter"));
  const element = el(
    "form",
    { class: "car-form" },
    el("div", { class: "buttons edits" }, saveButton, again, wiring),
    reason,
    el("div", { class: "stations" }, ...createStations(rows, delay)),
  );
  element.addEventListener("submit", (event) => {
    event.preventDefault();
    save();
  });
  let filledFrom = "";

  const form: CarForm = {
    element,
    show(view) {
      const draft = JSON.stringify(view.draft);
      if (draft !== filledFrom) {
        filledFrom = draft;
        for (const { field, input } of rows) input.value = draftText(field, view.draft);
      }
      for (const { field, from } of rows) setText(from, fromWords(field, view));
      setText(delay, delayWords(view));
      setText(again.firstElementChild as Element, view.calibration?.rollingRadiusM.from === "calibrated" ? "Calibrate again" : "Calibrate");
    },
    changes(draft) {
      const set: CarChanges = {};
      for (const { field, input } of rows) {
        if (input.value === draftText(field, draft)) continue;
        const read = fieldValue(field, input.value);
        if ("wrong" in read) {
          form.say(read.wrong);
          form.mark(field.key);
          return null;
        }
        set[field.key] = read.value;
      }
      return set;
    },
    say(words) {
      reason.hidden = words === null;
      setText(reason, words ?? "");
    },
    mark(key) {
      for (const { field, input } of rows) input.setAttribute("aria-invalid", String(field.key === key));
      rows.find(({ field }) => field.key === key)?.input.focus();
    },
  };
  return form;
}
