/**
 * The units in which people see speeds and lengths: km/h and m, or mph and ft. Every screen, paper and command takes them from here. The
 * core, books, JSON and the archive keep theirs. Unknown stays unknown.
 */
import { FT_PER_M, KMH_PER_MPS, M_PER_FOOT, MPH_PER_KMH, MPH_PER_MPS, MPS_PER_KMH, MPS_PER_MPH } from "./units.ts";

export type UnitsName = "km/h" | "mph";

export interface Units {
  readonly name: UnitsName;
  /** As a person chooses them. */
  readonly words: string;
  readonly speed: "km/h" | "mph";
  readonly speedAloud: string;
  readonly length: "m" | "ft";
  /** Multiply a value of the core by this to show it. */
  readonly perMps: number;
  readonly perKmh: number;
  readonly perM: number;
  /** How a column's name ends: "groundSpeedKmh", "distanceM". */
  readonly endings: { readonly speed: string; readonly length: string };
  /** Scales on which slip and speed are drawn, in these units. */
  readonly slipScales: readonly number[];
  readonly speedScales: readonly number[];
  /** Losses are counted in bands of this speed. */
  readonly bandStep: number;
  readonly mpsPerBand: number;
}

export const KMH_AND_M: Units = {
  name: "km/h",
  words: "km/h and m",
  speed: "km/h",
  speedAloud: "kilometres an hour",
  length: "m",
  perMps: KMH_PER_MPS,
  perKmh: 1,
  perM: 1,
  endings: { speed: "Kmh", length: "M" },
  slipScales: [15, 25, 40, 60],
  speedScales: [60, 120, 220],
  bandStep: 20,
  mpsPerBand: 20 * MPS_PER_KMH,
};

export const MPH_AND_FT: Units = {
  name: "mph",
  words: "mph and ft",
  speed: "mph",
  speedAloud: "miles an hour",
  length: "ft",
  perMps: MPH_PER_MPS,
  perKmh: MPH_PER_KMH,
  perM: FT_PER_M,
  endings: { speed: "Mph", length: "Ft" },
  slipScales: [10, 15, 25, 40],
  speedScales: [40, 80, 140],
  bandStep: 10,
  mpsPerBand: 10 * MPS_PER_MPH,
};

export const ALL_UNITS: readonly Units[] = [KMH_AND_M, MPH_AND_FT];

export const unitsNamed = (name: unknown): Units | undefined => ALL_UNITS.find((units) => units.name === name);

type Known = number | null | undefined;
const times = (value: Known, factor: number) => (value === null || value === undefined ? null : value * factor);

/** A speed in m/s, a speed in km/h and a length in m, as they are shown. */
export const speedIn = ({ perMps }: Units, mps: Known): number | null => times(mps, perMps);
export const kmhIn = ({ perKmh }: Units, kmh: Known): number | null => times(kmh, perKmh);
export const lengthIn = ({ perM }: Units, m: Known): number | null => times(m, perM);

/** A length as it was typed, in m. Metres to a millimetre: what was written out and is read again must not become a little less. */
export const typedM = ({ perM }: Units, length: number): number => (perM === 1 ? length : Number((length * M_PER_FOOT).toFixed(3)));
/** A length for a field that it is typed in. */
export const toTypeIn = ({ perM }: Units, m: number): number => Number((m * perM).toFixed(3));

/** How a column is shown: its name, its unit, and the factor on its values. */
export interface ShownColumn {
  readonly name: string;
  readonly unit: string;
  readonly factor: number;
}

/** Speeds in km/h and lengths are shown in the units; a speed in m/s as well, where these are not of the metric kind. */
export function shownColumn({ endings, speed, length, perKmh, perMps, perM }: Units, name: string, unit: string): ShownColumn {
  if (unit === "km/h") return { name: name.replace(/Kmh$/, endings.speed), unit: speed, factor: perKmh };
  if (unit === "m/s" && perM !== 1) return { name, unit: speed, factor: perMps };
  if (unit === "m") return { name: name.replace(/M$/, endings.length), unit: length, factor: perM };
  return { name, unit, factor: 1 };
}

/**
 * In a sentence of the core, a figure that follows the units has this sign (narrow no-break space) before its unit, or before and after its
 * exact value; + or - then says that it is rounded up or down. Neither gates nor words that people typed have it.
 */
const MARK = "\u202f";
// Of a known length, so that it stays linear in whatever text comes.
const FIGURE = /(\d{1,9}(?:\.\d{1,9})?)(?:( to )(\d{1,9}(?:\.\d{1,9})?))?\u202f(?:([\d.e-]{1,30}?)([+-]?)\u202f)?(km\/h|m)(?![\w/])/g;

type Rounding = "" | "+" | "-";
const ROUND = {
  "": (value: number) => value,
  "+": (value: number) => Math.ceil(value - 1e-6),
  "-": (value: number) => Math.floor(value + 1e-6),
};

export const saidKmh = (kmh: number, digits = 0): string => `${kmh.toFixed(digits)}${MARK}${Math.abs(kmh)}${MARK}km/h`;
export const saidSpeed = (mps: number, digits = 0): string => saidKmh(mps * KMH_PER_MPS, digits);
/** Rounded up or down, it is a whole number in every unit. */
export const saidLength = (m: number, rounding: Rounding = ""): string => `${ROUND[rounding](m).toFixed(0)}${MARK}${m}${rounding}${MARK}m`;

/**
 * Sentences in a book are plain text. This gives one of them the sign; only for sentences without gates and people's words. A length with
 * more than one decimal is a measure of the car, such as its radius, and stays in m.
 */
export const marked = (stored: string): string => stored.replace(/(?<![\d.])(\d+(?:\.\d)?) (km\/h|m)(?![\w/\u00b2])/g, `$1${MARK}$2`);

const digitsOf = (figure: string) => figure.split(".")[1]?.length ?? 0;

/** A sentence of the core in the units, with as many digits as it was said with. */
export function saidIn(units: Units, sentence: string): string {
  if (!sentence.includes(MARK)) return sentence;
  const told = (figure: string, exact: string | undefined, round: Rounding, factor: number) =>
    factor === 1 ? figure : ROUND[round](Number(exact ?? figure) * factor).toFixed(digitsOf(figure));
  return sentence
    .replace(FIGURE, (_, first: string, to: string | undefined, second: string | undefined, exact, round: Rounding = "", unit: string) => {
      const [factor, word] = unit === "m" ? [units.perM, units.length] : [units.perKmh, units.speed];
      if (second === undefined) return `${told(first, exact, round, factor)} ${word}`;
      return `${told(first, undefined, "", factor)}${to}${told(second, exact, round, factor)} ${word}`;
    })
    .replaceAll(MARK, " ");
}
