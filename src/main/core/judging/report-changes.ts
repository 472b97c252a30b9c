/**
 * What people changed in a book, in the words of the report. The book keeps names and numbers of its own; here they are told in words. A
 * value of a form that is not known is told as it is stored. Never fails.
 */
import { isGate } from "../../../shared/contract/wiring-contract.ts";
import type { ExpectedGain } from "../../../shared/judge/expected-gain.ts";
import { fixed } from "../../../shared/judge/wording.ts";
import { ofWord } from "../../../shared/kernel/by-word.ts";
import { UNKNOWN } from "../../../shared/kernel/number-words.ts";
import { saidLength, saidSpeed } from "../../../shared/kernel/shown-units.ts";
import { type Gate, gateEnds } from "../../../shared/launch/gate.ts";
import type { ReportChange } from "../../../shared/report/report-input.ts";
import { flagWords } from "../../../shared/run/flag-words.ts";
import { type Book, BookError, type Edit } from "../../ports/book.ts";
import { isGain } from "./response-book.ts";

type Values = Readonly<Record<string, unknown>>;
const isRecord = (value: unknown): value is Values => typeof value === "object" && value !== null && !Array.isArray(value);

/** A value before or after an edit, as text for people. */
function words(value: unknown): string {
  if (value === null || value === undefined) return "";
  if (typeof value !== "object") return typeof value === "boolean" ? (value ? "yes" : "no") : String(value);
  if ("use" in value && "note" in value) return `${value.use === true ? "used" : "set aside"}${value.note === "" ? "" : `: ${value.note}`}`;
  if (Array.isArray(value)) return value.map((item) => (item as { name?: unknown } | null)?.name ?? words(item)).join(", ");
  return Object.entries(value)
    .map(([key, part]) => `${key}: ${words(part) || "nothing"}`)
    .join(", ");
}

/** A list is stored whole: only what is not in the other state was changed. */
function inList(value: unknown, other: unknown, told: (item: unknown) => string): string {
  const known = new Set((Array.isArray(other) ? other : []).map((item) => JSON.stringify(item)));
  const changed = (Array.isArray(value) ? value : []).filter((item) => !known.has(JSON.stringify(item)));
  return changed.map(told).join("; ");
}

/** The same of a record. */
function inRecord(value: unknown, other: unknown, told: (key: string, part: unknown) => string): string {
  const known = isRecord(other) ? other : {};
  const changed = Object.entries(isRecord(value) ? value : {}).filter(
    ([key, part]) => JSON.stringify(part) !== JSON.stringify(ofWord(known, key)),
  );
  return changed.map(([key, part]) => told(key, part)).join("; ");
}

function planned(book: Book, id: unknown): string {
  if (typeof id !== "number") return words(id);
  try {
    const { groups, runsPerGroup, seed } = book.plan(id).plan.request;
    return `${groups.join(" and ")}, ${runsPerGroup} runs a group, seed ${seed}`;
  } catch (error) {
    // A damaged plan is told by `check`.
    if (error instanceof BookError) return `plan ${id}`;
    throw error;
  }
}

function gateWords(gate: Gate): string {
  const { fromMps, to } = gateEnds(gate);
  const end = to.what === "speed" ? saidSpeed(to.mps, 1) : to.what === "distance" ? saidLength(to.m) : "standing";
  return `${gate.name}: ${fromMps === null ? "standing" : saidSpeed(fromMps, 1)} to ${end}`;
}

const gainWords = ({ gate, from, to, gainS, plusMinus95 }: ExpectedGain) =>
  `${gate}, ${from} to ${to}: ${fixed(gainS)} s ± ${typeof plusMinus95 === "number" ? fixed(plusMinus95) : UNKNOWN}`;

function tyreWords(value: unknown): string {
  if (!isRecord(value)) return words(value);
  const { tyres, pressureKpa } = value;
  if (tyres == null && pressureKpa == null) return "";
  return `${words(tyres) || "tyres not noted"}, ${pressureKpa == null ? "pressure not noted" : `${words(pressureKpa)} kPa`}`;
}

interface Told {
  readonly what: string;
  /** One state of it. `other`: the state that it is told beside. */
  words(value: unknown, other: unknown, book: Book): string;
}

/** Settings by the names that books keep them under. */
const SETTINGS: Readonly<Record<string, Told>> = {
  plan: { what: "plan", words: (id, _, book) => planned(book, id) },
  gates: {
    what: "own gates",
    words: (value, other) => inList(value, other, (item) => (isGate(item) ? gateWords(item) : words(item))),
  },
  "expected gains": {
    what: "expected gain",
    words: (value, other) => inList(value, other, (item) => (isGain(item) ? gainWords(item) : words(item))),
  },
  "aligned logs": {
    what: "receiver log moved onto the bus log",
    words: (value, other) =>
      inRecord(value, other, (recording, s) => `recording ${recording}: by ${typeof s === "number" ? fixed(s, 3) : words(s)} s`),
  },
  tyres: { what: "tyres", words: tyreWords },
  "calibration-tyres": {
    what: "tyres at a calibration",
    words: (value, other) => inRecord(value, other, (id, notes) => `calibration ${id}: ${tyreWords(notes) || "not noted"}`),
  },
};

function toldOf(what: string): Told {
  const setting = /^setting (.*)$/s.exec(what)?.[1];
  if (setting !== undefined) return ofWord(SETTINGS, setting) ?? { what: setting, words };
  const flag = /^overruled (\w+)$/.exec(what)?.[1];
  return { what: flag === undefined ? what : `overruled ${flagWords({ flag })}`, words };
}

/** One edit of the book as a line of the report. */
export function reportChange(book: Book, { run, what, before, after, utcUs }: Edit): ReportChange {
  const at = new Date(utcUs / 1000).toISOString();
  // The book keeps which texts these were by numbers of its own; the newest stands in the report.
  if (what.startsWith("set-up of recording ")) return { at, run, what, before: "the one before", after: "another one" };
  const told = toldOf(what);
  return { at, run, what: told.what, before: told.words(before, after, book), after: told.words(after, before, book) };
}
