/** Checks a plan file (JSON) once, at the edge. Unknown keys and impossible values throw PlanError, which names the place. */
import { byWord } from "../kernel/by-word.ts";
import { type HoldWindow, PlanError, type PlanRequest } from "./plan.ts";

type Raw = Readonly<Record<string, unknown>>;

const KEYS = [
  "groups",
  "runsPerGroup",
  "directions",
  "orders",
  "gates",
  "usableLengthM",
  "directionNames",
  "withoutControl",
  "wet",
  "runOffNote",
  "hold",
  "leastWaitS",
  "seed",
];

/** A longer text is not a name, and would be hard to read when repeated. */
const MOST_LETTERS = 60;
/** No strip is longer; a larger figure is a typing mistake. */
const MOST_LENGTH_M = 20_000;
/** Possible limits of a window: a share, or a temperature at which electric parts and people can work. */
const PERCENT = { least: 0, most: 100, words: "percent" };
const CELSIUS = { least: -60, most: 300, words: "°C" };
const rangeOf = (key: string) => (key === "stateOfCharge" ? PERCENT : /Temperature$/.test(key) ? CELSIUS : null);

function fail(place: string, expected: string, came: unknown): never {
  const text = JSON.stringify(came) ?? "nothing";
  throw new PlanError(`Plan, ${place}: expected ${expected}, got ${text.length > MOST_LETTERS ? `${text.slice(0, MOST_LETTERS)}…` : text}`);
}

function isRecord(value: unknown): value is Raw {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}

function texts(raw: Raw, key: string, fallback?: readonly string[]): readonly string[] {
  const value = raw[key] ?? fallback;
  if (!Array.isArray(value) || value.some((item) => typeof item !== "string" || item.trim() === ""))
    fail(`"${key}"`, "a list of texts", raw[key]);
  const long = (value as string[]).find((item) => item.trim().length > MOST_LETTERS);
  if (long !== undefined) fail(`"${key}"`, `names of at most ${MOST_LETTERS} letters`, long);
  return (value as string[]).map((item) => item.trim());
}

function wholeNumber(raw: Raw, key: string, fallback: number, most: number, least = 0): number {
  const value = raw[key] ?? fallback;
  if (typeof value !== "number" || !Number.isInteger(value) || value < least || value > most)
    fail(`"${key}"`, `a whole number from ${least} to ${most}`, value);
  return value as number;
}

function holdWindows(raw: unknown): Record<string, HoldWindow> {
  if (raw === undefined) return {};
  if (!isRecord(raw)) fail('"hold"', 'windows such as {"stateOfCharge": {"low": 60, "high": 90}}', raw);
  return byWord(
    Object.entries(raw).map(([key, window]) => {
      const place = `"hold.${key}"`;
      if (!isRecord(window) || Object.keys(window).some((end) => end !== "low" && end !== "high")) fail(place, '"low" and "high"', window);
      const ends = Object.values(window);
      if (ends.length === 0) fail(place, "numbers", window);
      const range = rangeOf(key);
      for (const end of ends) {
        const isNumber = typeof end === "number" && Number.isFinite(end);
        if (!isNumber || (range !== null && (end < range.least || end > range.most)))
          fail(place, range === null ? "numbers" : `${range.words} from ${range.least} to ${range.most}`, end);
      }
      const { low, high } = window as HoldWindow;
      if (low !== undefined && high !== undefined && low >= high) fail(place, "low below high", window);
      return [key, window as HoldWindow] as const;
    }),
  );
}

/** `raw`: parsed JSON. Defaults: six runs a group, two directions, nearly drift-balanced orders, gate 0-60 mph. */
export function checkPlanRequest(raw: unknown): PlanRequest {
  if (!isRecord(raw)) fail("whole file", "an object", raw);
  const unknown = Object.keys(raw).find((key) => !KEYS.includes(key));
  if (unknown !== undefined) throw new PlanError(`Plan: unknown key ${JSON.stringify(unknown)}; known are ${KEYS.join(", ")}`);
  const { directions = 2, orders = "balanced", usableLengthM, wet = false, runOffNote = "", directionNames } = raw;
  if (directions !== 1 && directions !== 2) fail('"directions"', "1 or 2", directions);
  if (orders !== "any" && orders !== "blocks" && orders !== "balanced") fail('"orders"', '"any", "blocks" or "balanced"', orders);
  if (typeof usableLengthM !== "number" || !(usableLengthM > 0) || usableLengthM > MOST_LENGTH_M)
    fail('"usableLengthM"', `the usable length in metres, at most ${MOST_LENGTH_M}`, usableLengthM);
  if (typeof wet !== "boolean") fail('"wet"', "true or false", wet);
  if (typeof runOffNote !== "string") fail('"runOffNote"', "a text", runOffNote);
  const names = directionNames === undefined ? undefined : texts(raw, "directionNames");
  if (names && (names.length !== 2 || names[0] === names[1]))
    fail('"directionNames"', "two different names, outbound first", directionNames);
  return {
    groups: texts(raw, "groups"),
    runsPerGroup: wholeNumber(raw, "runsPerGroup", 6, 100, 2),
    directions,
    orders,
    gates: texts(raw, "gates", ["0-60 mph"]),
    usableLengthM,
    withoutControl: texts(raw, "withoutControl", []),
    wet,
    runOffNote,
    hold: holdWindows(raw.hold),
    leastWaitS: wholeNumber(raw, "leastWaitS", 0, 86_400),
    ...(names ? { directionNames: [names[0] as string, names[1] as string] as const } : {}),
    ...(raw.seed === undefined ? {} : { seed: wholeNumber(raw, "seed", 0, 0xffffffff) }),
  };
}
