/**
 * Asks for a run's conditions and for what was changed in the controller, filled in from the run before. Closing the dialog gives no
 * answer.
 */
import { el } from "../screen/dom.ts";
import { openDialog, submit } from "../screen/dialogs.ts";
import { type Change, CONDITION_FIELDS, changesOf, conditionsSet, prefilled } from "./conditions.ts";

const PARTS = ["parameter", "before", "after", "unit"] as const;
const PART_NAME = { parameter: "Changed parameter", before: "Value before", after: "Value after", unit: "Unit" } as const;
/** As the core notes a kept file. */
const FILE_KEY = "controller file";
/** Empty rows for further parameters. */
const SPARE_ROWS = 2;

export interface ConditionsQuestion {
  readonly run: number;
  readonly own: Readonly<Record<string, string>>;
  /** Conditions of the run before, and its number. */
  readonly before: { readonly run: number; readonly conditions: Readonly<Record<string, string>> } | null;
  /** Charge from the bus, in words. */
  readonly charge: string;
}

/** The keys to set and to remove, and a file to keep with the run; null when closed without an answer. */
export async function askConditions({
  run,
  own,
  before,
  charge,
}: ConditionsQuestion): Promise<{ readonly set: Record<string, string | null>; readonly file: File | null } | null> {
  let borrowed = false;
  const fields = CONDITION_FIELDS.map(({ key, name, hint }) => {
    const { value, fromBefore } = prefilled(key, own, before?.conditions ?? {});
    borrowed ||= fromBefore;
    const input = el("input", { type: "text", maxlength: 200, autocomplete: "off" });
    input.value = value;
    const words = el("span", {}, name, hint === "" ? "" : el("span", { class: "quiet" }, ` ${hint}`));
    return { key, input, element: el("label", { class: key === "driver's note" ? "wide" : "" }, words, input) };
  });
  const rows = [
    ...changesOf(own),
    ...Array.from({ length: SPARE_ROWS }, (): Change => ({ parameter: "", before: "", after: "", unit: "" })),
  ].map((change) =>
    PARTS.map((part) => {
      const input = el("input", { type: "text", maxlength: 80, autocomplete: "off" });
      input.value = change[part];
      return { part, input, element: el("label", {}, PART_NAME[part], input) };
    }),
  );
  const file = el("input", { type: "file" });
  const kept = own[FILE_KEY] === undefined ? "" : ` Kept: ${own[FILE_KEY]}`;
  const from = borrowed && before !== null ? `Filled in from run ${before.run}: check each line. ` : "";
  const dialog = el(
    "dialog",
    { "aria-label": `Conditions of run ${run}`, class: "conditions" },
    el(
      "form",
      { method: "dialog" },
      el("h2", { class: "lead" }, `Conditions of run ${run}`),
      el("p", { class: "small" }, `${from}Charge from the bus: ${charge}.`),
      el("div", { class: "fields" }, ...fields.map(({ element }) => element)),
      el("div", { class: "changes" }, ...rows.flatMap((row) => row.map(({ element }) => element))),
      el("label", {}, `The controller\u2019s file, kept with the run by its SHA-256.${kept}`, file),
      el("div", { class: "buttons" }, submit("Keep", "yes", true), submit("Close", "", false)),
    ),
  );
  if ((await openDialog(dialog)) !== "yes") return null;
  const said = Object.fromEntries(fields.map(({ key, input }) => [key, input.value]));
  const changes = rows.map((row) => Object.fromEntries(row.map(({ part, input }) => [part, input.value])) as unknown as Change);
  return { set: conditionsSet(own, said, changes), file: file.files?.[0] ?? null };
}
