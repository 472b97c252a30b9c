/**
 * Settings as numbers: what people noted with a run ("slip target" 8 %), or what its label says ("slip target 8 %, gain 2"), and the label that says
 * it. A text that is no number is no setting.
 */
import { byWord, ofWord } from "../kernel/by-word.ts";
import type { JudgedRun } from "./judged-run.ts";

export interface Setting {
  readonly value: number;
  readonly unit: string;
}
export type Settings = Readonly<Record<string, Setting>>;

export interface SettingRange {
  readonly name: string;
  readonly unit: string;
  /** The least and the most that was tried: -1 and +1 of the scale. */
  readonly low: number;
  readonly high: number;
  /** How many values were tried. */
  readonly levels: number;
}

const VALUE = /^([-+]?\d+(?:\.\d+)?)\s*([^\d\s]\D*)?$/;
const PART = /^(.*\S)\s+([-+]?\d+(?:\.\d+)?(?:\s*[^\d\s]\D*)?)$/;

/** "8 %" is 8 with the unit %; null for what is no number, as a change ("8 -> 6"). */
export function settingOf(text: string): Setting | null {
  const match = VALUE.exec(text.trim());
  return match === null ? null : { value: Number(match[1]), unit: match[2]?.trim() ?? "" };
}

/** What the label says counts where nothing is noted under that name. */
export function settingsOf({ label, conditions }: Pick<JudgedRun, "label" | "conditions">): Settings {
  const said = label.split(", ").flatMap((part) => {
    const match = PART.exec(part.trim());
    const setting = match === null ? null : settingOf(match[2] as string);
    return setting === null ? [] : [[match?.[1] as string, setting] as const];
  });
  const noted = Object.keys(conditions).flatMap((key) => {
    const setting = settingOf(ofWord(conditions, key) ?? "");
    return setting === null ? [] : [[key, setting] as const];
  });
  return byWord([...said, ...noted]);
}

const withUnit = (value: number, unit: string) => (unit === "" ? String(value) : `${value} ${unit}`);

/** "slip target 8 %, gain 2": settingsOf reads it again. */
export const settingsLabel = (settings: readonly (readonly [string, Setting])[]): string =>
  settings.map(([name, { value, unit }]) => `${name} ${withUnit(value, unit)}`).join(", ");

/** A value between two others, to a power of ten of at most a tenth of half their distance: nobody sets a controller finer than that. */
export function roundedBetween(low: number, high: number, value: number): number {
  const step = 10 ** Math.floor(Math.log10(((high - low) / 2) * 0.1 + 1e-300));
  return Number((Math.round(value / step) * step).toPrecision(12));
}
