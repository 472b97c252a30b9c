/**
 * What this screen remembers between visits: scheme, units, sound, speech, single keys on or off and which they are, mm per px, cautions
 * read.
 * Where the browser's storage is closed, nothing is remembered and all else works.
 */

import { KMH_AND_M, type UnitsName, unitsNamed } from "../../shared/kernel/shown-units.ts";
import { useUnits } from "../screen/units.ts";

export type Scheme = "day" | "night" | "sun";
const SCHEMES: readonly Scheme[] = ["day", "night", "sun"];

export interface Settings {
  scheme: Scheme;
  /** How much dimmer the night is: 0, 1 or 2. */
  dim: number;
  /** Those of speeds and lengths. */
  units: UnitsName;
  sound: boolean;
  speech: boolean;
  singleKeys: boolean;
  /** Keys that differ from the usual ones, by action (key-map.ts). */
  keys: Readonly<Record<string, unknown>>;
  /** CSS px per mm of this screen; 6.25 is 0.16 mm a px. */
  pxPerMm: number;
  cautionsRead: boolean;
}

/** Limits of CSS px per mm: finer screens are not read at arm's length, and the bar for setting it must have room. */
export const PX_PER_MM = { least: 2.5, most: 10.5 } as const;

const KEY = "gripbook";
/** Steps of the dimmer. */
export const DIM_WORDS = ["at full brightness", "dim", "dimmer"] as const;
const FIRST: Settings = {
  scheme: "day",
  dim: 0,
  units: KMH_AND_M.name,
  sound: true,
  speech: false,
  singleKeys: true,
  keys: {},
  pxPerMm: 6.25,
  cautionsRead: false,
};

function stored(): Record<string, unknown> {
  try {
    const value: unknown = JSON.parse(localStorage.getItem(KEY) ?? "{}");
    return typeof value === "object" && value !== null ? (value as Record<string, unknown>) : {};
  } catch {
    return {};
  }
}

export function readSettings(): Settings {
  const { scheme, dim, units, sound, speech, singleKeys, keys, pxPerMm, cautionsRead } = stored();
  return {
    scheme: SCHEMES.find((known) => known === scheme) ?? FIRST.scheme,
    dim: typeof dim === "number" && DIM_WORDS[dim] !== undefined ? dim : FIRST.dim,
    units: unitsNamed(units)?.name ?? FIRST.units,
    sound: typeof sound === "boolean" ? sound : FIRST.sound,
    speech: typeof speech === "boolean" ? speech : FIRST.speech,
    singleKeys: typeof singleKeys === "boolean" ? singleKeys : FIRST.singleKeys,
    keys: typeof keys === "object" && keys !== null ? (keys as Record<string, unknown>) : FIRST.keys,
    pxPerMm: typeof pxPerMm === "number" && pxPerMm >= PX_PER_MM.least && pxPerMm <= PX_PER_MM.most ? pxPerMm : FIRST.pxPerMm,
    cautionsRead: cautionsRead === true,
  };
}

/** Applies settings to the page and stores them. */
export function useSettings(settings: Settings): void {
  useUnits(settings.units);
  document.documentElement.dataset.scheme = settings.scheme;
  document.documentElement.dataset.dim = String(settings.dim);
  document.documentElement.style.setProperty("--mm", `${settings.pxPerMm}px`);
  try {
    localStorage.setItem(KEY, JSON.stringify(settings));
  } catch {
    // Storage closed by the browser: the choice is valid for this visit, and no measurement depends on it.
    return;
  }
}

export const nextScheme = (scheme: Scheme): Scheme => SCHEMES[(SCHEMES.indexOf(scheme) + 1) % SCHEMES.length] ?? "day";
