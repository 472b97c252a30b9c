/** The texts of the Car screen: first sentence, the source of each figure, and how a typed figure is read. Pure. */
import type { CarView } from "../../../shared/contract/wiring-contract.ts";

export interface CarField {
  readonly key: string;
  readonly label: string;
  readonly unit: string;
  readonly station: "motor" | "gear" | "axle" | "tyre" | "car";
  readonly kind: "number" | "text" | "axle" | "percent";
  readonly needed: boolean;
}

export const CAR_FIELDS: readonly CarField[] = [
  { key: "gearRatio", label: "Gear ratio", unit: "", station: "gear", kind: "number", needed: true },
  { key: "wheelInertiaKgM2", label: "Axle inertia", unit: "kg m\u00b2", station: "gear", kind: "number", needed: false },
  { key: "drivenAxle", label: "Driven", unit: "", station: "axle", kind: "axle", needed: true },
  { key: "frontWeightShare", label: "Weight in front", unit: "%", station: "axle", kind: "percent", needed: false },
  { key: "wheelbaseM", label: "Wheelbase", unit: "m", station: "axle", kind: "number", needed: false },
  { key: "cgHeightM", label: "Centre of gravity height", unit: "m", station: "axle", kind: "number", needed: false },
  { key: "tyre", label: "Tyre size", unit: "", station: "tyre", kind: "text", needed: true },
  { key: "rollingRadiusM", label: "Or rolling radius", unit: "m", station: "tyre", kind: "number", needed: false },
  { key: "name", label: "Name", unit: "", station: "car", kind: "text", needed: true },
  { key: "massKg", label: "Mass, people in", unit: "kg", station: "car", kind: "number", needed: true },
  { key: "dragAreaM2", label: "Drag area", unit: "m\u00b2", station: "car", kind: "number", needed: false },
];

const list = (words: readonly string[]) => (words.length < 2 ? (words[0] ?? "") : `${words.slice(0, -1).join(", ")} and ${words.at(-1)}`);

/** A share in percent with two significant digits. */
const percent = (share: number) => `${Number((100 * share).toPrecision(2))}\u00a0%`;

const when = new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "long", hour: "2-digit", minute: "2-digit" });

/** Which calibration is in use, when it was driven and on which tyres. */
function calibrationWords({ id, fittedHere, recordedAt, tyres, notes }: NonNullable<CarView["calibration"]>): string {
  const said = [
    fittedHere ? "Fitted on this drive so far" : `Calibration ${id ?? ""}`.trim(),
    ...(recordedAt === null ? [] : [`driven ${when.format(new Date(recordedAt))}`]),
    tyres.tyres === null ? "tyres not noted" : `on ${tyres.tyres}`,
    ...(tyres.pressureKpa === null ? [] : [`${tyres.pressureKpa}\u00a0kPa`]),
  ].join(", ");
  return `${said}.${notes[0] === undefined ? "" : ` ${notes[0]}`}`;
}

/** The first sentence and the one below it. */
export function carSentence(view: CarView): { readonly sentence: string; readonly second: string } {
  const name = view.draft.name ?? "The car";
  if (view.missing.length > 0) return { sentence: `${name} is not known yet.`, second: `Missing: ${list(view.missing)}.` };
  if (view.calibration === null || view.slipShare === null)
    return { sentence: `${name}\u2019s figures are in.`, second: "Wiring says what is missing before the car can be calibrated." };
  const stale = view.stale[0];
  if (stale !== undefined) return { sentence: `${name} has changed since it was calibrated.`, second: stale };
  if (view.calibration.rollingRadiusM.from !== "calibrated") {
    return {
      sentence: `${name} is known only well enough to measure slip to ${percent(view.slipShare)}.`,
      second: "Its radius is the tyre\u2019s marking or a typed figure. Two minutes of gentle driving make it ten times better.",
    };
  }
  return {
    sentence: `${name} is known well enough to measure slip to ${percent(view.slipShare)}.`,
    second: calibrationWords(view.calibration),
  };
}

/** The set-up's value as text in the field. */
export function fieldText(field: CarField, value: unknown): string {
  if (value === undefined || value === null) return "";
  return field.kind === "percent" ? String(Number((100 * Number(value)).toPrecision(6))) : String(value);
}

/** A field's text as a set-up value; null where empty; or words that say why it is not possible. */
export function fieldValue(field: CarField, text: string): { readonly value: string | number | null } | { readonly wrong: string } {
  const trimmed = text.trim();
  if (trimmed === "") return { value: null };
  if (field.kind === "text" || field.kind === "axle") return { value: trimmed };
  const number = Number(trimmed.replace(",", "."));
  if (!Number.isFinite(number)) return { wrong: `${field.label}: expected a number, got ${trimmed}` };
  return { value: field.kind === "percent" ? number / 100 : number };
}

/** The source of a figure, below its field. */
export function fromWords(field: CarField, view: CarView): string {
  const { calibration, draft } = view;
  if (field.key === "rollingRadiusM" && calibration !== null) {
    const { value, plusMinus95, from } = calibration.rollingRadiusM;
    // An interval rounded to zero would say that the radius is exact.
    const digits = plusMinus95 > 0 && plusMinus95 < 0.00005 ? 5 : 4;
    return `${value.toFixed(digits)} \u00b1 ${plusMinus95.toFixed(digits)} m, ${from === "calibrated" ? "calibrated" : draft.rollingRadiusM === undefined ? "from the marking" : "set-up"}`;
  }
  const given = (draft as Readonly<Record<string, unknown>>)[field.key];
  if (given !== undefined) return "set-up";
  if (field.key === "tyre" && draft.rollingRadiusM !== undefined) return "not needed";
  return field.needed ? "unknown: needed" : "unknown";
}

/**
 * Why the core refuses a figure, in the words and unit of the field. (The core names the set-up file's key, and shares where people type
 * percent.) What names no field stays unchanged.
 */
export function carRefusal(message: string): { readonly words: string; readonly key: string | null } {
  const [, key = "", why = ""] = /: car\.(\w+): (.*)$/s.exec(message) ?? [];
  const field = CAR_FIELDS.find((known) => known.key === key);
  if (field === undefined) return { words: message, key: null };
  const range = /^expected .* from (\S+) to (\S+), got (\S+)$/.exec(why);
  if (range === null) return { words: `${field.label}: ${why}`, key };
  const [least, most, got] = range.slice(1).map((text) => fieldText(field, text));
  const unit = field.unit === "" ? "" : ` ${field.unit}`;
  return { words: `${field.label}: expected a number from ${least} to ${most}${unit}, got ${got}`, key };
}
