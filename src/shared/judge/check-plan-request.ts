/** Checks a plan file (JSON) once, at the edge. Unknown keys and impossible values throw PlanError naming the place. */
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

function fail(place: string, expected: string, came: unknown): never {
  throw new PlanError(`Plan, ${place}: expected ${expected}, got ${JSON.stringify(came) ?? "nothing"}`);
}

function isRecord(value: unknown): value is Raw {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}

function texts(raw: Raw, key: string, fallback?: readonly string[]): readonly string[] {
  const value = raw[key] ?? fallback;
  if (!Array.isArray(value) || value.some((item) => typeof item !== "string" || item.trim() === ""))
    fail(`"${key}"`, "a list of texts", raw[key]);
  return (value as string[]).map((item) => item.trim());
}

function wholeNumber(raw: Raw, key: string, fallback: number, most: number): number {
  const value = raw[key] ?? fallback;
  if (typeof value !== "number" || !Number.isInteger(value) || value < 0 || value > most)
    fail(`"${key}"`, `a whole number from 0 to ${most}`, value);
  return value as number;
}

function holdWindows(raw: unknown): Record<string, HoldWindow> {
  if (raw === undefined) return {};
  if (!isRecord(raw)) fail('"hold"', 'windows such as {"stateOfCharge": {"low": 60, "high": 90}}', raw);
  return Object.fromEntries(
    Object.entries(raw).map(([key, window]) => {
      const place = `"hold.${key}"`;
      if (!isRecord(window) || Object.keys(window).some((end) => end !== "low" && end !== "high")) fail(place, '"low" and "high"', window);
      const ends = Object.values(window);
      if (ends.length === 0 || ends.some((end) => typeof end !== "number" || !Number.isFinite(end))) fail(place, "numbers", window);
      const { low, high } = window as HoldWindow;
      if (low !== undefined && high !== undefined && low >= high) fail(place, "low below high", window);
      return [key, window as HoldWindow];
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
  if (typeof usableLengthM !== "number" || !(usableLengthM > 0)) fail('"usableLengthM"', "the usable length in metres", usableLengthM);
  if (typeof wet !== "boolean") fail('"wet"', "true or false", wet);
  if (typeof runOffNote !== "string") fail('"runOffNote"', "a text", runOffNote);
  const names = directionNames === undefined ? undefined : texts(raw, "directionNames");
  if (names && names.length !== 2) fail('"directionNames"', "two names, outbound first", directionNames);
  return {
    groups: texts(raw, "groups"),
    runsPerGroup: wholeNumber(raw, "runsPerGroup", 6, 100),
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
