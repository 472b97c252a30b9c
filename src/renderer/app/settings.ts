/** What this screen remembers between visits: scheme, sound, speech, single keys and which they are, mm per px, cautions read. Where storage is closed it forgets, and works. */

export type Scheme = "day" | "night" | "sun";
const SCHEMES: readonly Scheme[] = ["day", "night", "sun"];

export interface Settings {
  scheme: Scheme;
  sound: boolean;
  speech: boolean;
  singleKeys: boolean;
  /** Keys that differ from the first ones, by action (key-map.ts). */
  keys: Readonly<Record<string, unknown>>;
  /** CSS px per mm of this screen; 6.25 is 0.16 mm a px. */
  pxPerMm: number;
  cautionsRead: boolean;
}

/** CSS px per mm that can be set: finer screens are not held at arm's length, and the bar that sets it must have room. */
export const PX_PER_MM = { least: 2.5, most: 10.5 } as const;

const KEY = "gripbook";
const FIRST: Settings = { scheme: "day", sound: true, speech: false, singleKeys: true, keys: {}, pxPerMm: 6.25, cautionsRead: false };

function stored(): Record<string, unknown> {
  try {
    const value: unknown = JSON.parse(localStorage.getItem(KEY) ?? "{}");
    return typeof value === "object" && value !== null ? (value as Record<string, unknown>) : {};
  } catch {
    return {};
  }
}

export function readSettings(): Settings {
  const { scheme, sound, speech, singleKeys, keys, pxPerMm, cautionsRead } = stored();
  return {
    scheme: SCHEMES.find((known) => known === scheme) ?? FIRST.scheme,
    sound: typeof sound === "boolean" ? sound : FIRST.sound,
    speech: typeof speech === "boolean" ? speech : FIRST.speech,
    singleKeys: typeof singleKeys === "boolean" ? singleKeys : FIRST.singleKeys,
    keys: typeof keys === "object" && keys !== null ? (keys as Record<string, unknown>) : FIRST.keys,
    pxPerMm: typeof pxPerMm === "number" && pxPerMm >= PX_PER_MM.least && pxPerMm <= PX_PER_MM.most ? pxPerMm : FIRST.pxPerMm,
    cautionsRead: cautionsRead === true,
  };
}

/** Applies settings to the page and keeps them. */
export function useSettings(settings: Settings): void {
  document.documentElement.dataset.scheme = settings.scheme;
  document.documentElement.style.setProperty("--mm", `${settings.pxPerMm}px`);
  try {
    localStorage.setItem(KEY, JSON.stringify(settings));
  } catch {
    // Storage closed by the browser: the choice holds for this visit, and nothing measured depends on it.
    return;
  }
}

export const nextScheme = (scheme: Scheme): Scheme => SCHEMES[(SCHEMES.indexOf(scheme) + 1) % SCHEMES.length] ?? "day";
