/**
 * What each setting is worth: the runs' times regressed on the settings noted with them, within days, surfaces and directions, and never beyond what
 * was tried. Where it cannot be told, the reason is in words.
 */
import type { JudgedRun, StrataFactor } from "./judged-run.ts";
import { bestWithin, type ChosenSetting } from "./response-best.ts";
import { fitResponse, type ResponseModel, type Term } from "./response-model.ts";
import { controlled } from "./response-runs.ts";
import { type Setting, type SettingRange, settingsOf, type Settings } from "./settings.ts";
import { levelsOf } from "./strata.ts";

type Timed = JudgedRun & { readonly seconds: number };

export interface ResponseFactor extends SettingRange {
  /** From low to high with the others at their middle, seconds: negative is quicker. Null where these runs cannot tell it. */
  readonly worth: { readonly seconds: number; readonly plusMinus95: number } | null;
}

interface ResponseTerm {
  readonly kind: "main" | "square" | "product";
  readonly name: string;
  readonly seconds: number;
  readonly plusMinus95: number | null;
}

interface ResponsePoint {
  readonly run: number;
  readonly seconds: number;
  readonly expected: number;
  readonly residual: number;
}

export interface Response {
  readonly gate: string;
  readonly factors: readonly ResponseFactor[];
  /** What runs are compared within. */
  readonly within: readonly StrataFactor[];
  readonly terms: readonly ResponseTerm[];
  /** Scatter of one run about the model; null where no run is left to tell it. */
  readonly scatterS: number | null;
  /** Scatter of runs with the same settings; null where none was repeated. */
  readonly pureScatterS: number | null;
  readonly degrees: number;
  /** Share of the variance that the model explains; null where all times are equal. */
  readonly explained: number | null;
  readonly points: readonly ResponsePoint[];
  /** The setting that was driven most, and the quickest by the model within what was tried. */
  readonly usual: ChosenSetting;
  readonly best: ChosenSetting & { readonly gainS: number; readonly plusMinus95: number | null };
  readonly notes: readonly string[];
}

export type ResponseAnswer = { readonly response: Response; readonly why: null } | { readonly response: null; readonly why: string };

export interface ResponseRequest {
  readonly gate: string;
  readonly runs: readonly JudgedRun[];
  /** Absent: every setting that most runs have and that differs. */
  readonly factors?: readonly string[] | undefined;
  /** Absent: what the runs differ in. */
  readonly by?: readonly StrataFactor[] | undefined;
}

/** Runs that must be left to tell the scatter from, before a product, a square or a stratum is fitted. */
const LEAST_DEGREES = 4;
const LEAST_NOTED = 0.8;
const USUAL: readonly StrataFactor[] = ["car", "surface", "day", "direction"];

function rangeOf(name: string, of: readonly Settings[]): SettingRange | string {
  const settings = of.flatMap((one) => one[name] ?? []);
  if (settings.length === 0) return `${name} is noted as a number with no run`;
  const units = [...new Set(settings.map(({ unit }) => unit))];
  if (units.length > 1) return `${name} is noted in ${units.map((unit) => unit || "no unit").join(" and in ")}: use one`;
  const values = settings.map(({ value }) => value);
  const [low, high] = [Math.min(...values), Math.max(...values)];
  if (low === high) return `${name} was ${low} in every run`;
  return { name, unit: units[0] ?? "", low, high, levels: new Set(values).size };
}

/** Settings that differ: those that most runs with a setting have, and in words those that fewer have. */
function namesOf(settings: readonly Settings[]): { readonly names: readonly string[]; readonly rare: readonly string[] } {
  const noted = settings.filter((one) => Object.keys(one).length > 0);
  const [names, rare]: [string[], string[]] = [[], []];
  for (const name of new Set(noted.flatMap((one) => Object.keys(one)))) {
    const values = noted.flatMap((one) => one[name]?.value ?? []);
    if (new Set(values).size < 2) continue;
    if (values.length >= LEAST_NOTED * noted.length) names.push(name);
    else rare.push(`${name} is noted with ${values.length} of ${settings.length} runs, too few to be looked at beside the others`);
  }
  return { names, rare };
}

export function respond({ gate, runs, factors: asked, by }: ResponseRequest): ResponseAnswer {
  const { runs: timed, words: leftOut } = controlled(runs.filter((run): run is Timed => run.use && run.seconds !== null));
  const settings = timed.map(settingsOf);
  const { names, rare } = namesOf(settings);
  const found = (asked ?? names).map((name) => rangeOf(name, settings));
  const refused = found.filter((one) => typeof one === "string");
  if (asked !== undefined && refused.length > 0) return { response: null, why: refused.join("; ") };
  const ranges = found.filter((one) => typeof one !== "string");
  if (ranges.length === 0)
    return {
      response: null,
      why: "no setting differs between the runs: note it as a number (`conditions 1-6 'slip target=8 %'`), or label runs with it",
    };
  const whole = timed.flatMap((run, i) => {
    const own = settings[i] as Settings;
    return ranges.every(({ name }) => own[name] !== undefined) ? [{ run, own }] : [];
  });
  const least = ranges.length + 2;
  if (whole.length < least)
    return {
      response: null,
      why: `${whole.length} runs with a time have ${ranges.map(({ name }) => name).join(", ")} noted: at least ${least} are needed`,
    };
  const levels = whole.map(({ own }) => ranges.map(({ name, low, high }) => (((own[name] as Setting).value - low) / (high - low)) * 2 - 1));
  const notes = [
    ...(leftOut === null ? [] : [leftOut]),
    ...(asked === undefined ? rare : []),
    ...refused,
    ...(whole.length < timed.length ? [`${timed.length - whole.length} runs lack one of these settings and are left out`] : []),
  ];
  return { response: fitted({ gate, ranges, runs: whole.map(({ run }) => run), levels, by, notes }), why: null };
}

interface Fitting {
  readonly gate: string;
  readonly ranges: readonly SettingRange[];
  readonly runs: readonly Timed[];
  readonly levels: readonly (readonly number[])[];
  readonly by: readonly StrataFactor[] | undefined;
  readonly notes: string[];
}

function fitted({ gate, ranges, runs, levels, by, notes }: Fitting): Response {
  const seconds = runs.map((run) => run.seconds);
  const mains: Term[] = [[], ...ranges.map((_, i) => [i])];
  const { within, blocks } = blocksOf(runs, mains.length, by, notes);
  const modelOf = (terms: readonly Term[]) => fitResponse(levels, seconds, terms, blocks);
  const model = withMore(modelOf, mains, ranges, notes);
  for (const { term, standardError } of model.terms)
    if (term.length === 1 && standardError === null && model.degrees > 0)
      notes.push(
        `${ranges[term[0] as number]?.name} cannot be told from ${within.join(", ") || "the other settings"} in these runs: it never differed by itself`,
      );
  const { pureError } = model;
  const { notProposed, ...quickest } = bestWithin(model, ranges, levels);
  return {
    gate,
    factors: ranges.map((range, i) => ({ ...range, worth: worthOf(model, i) })),
    within,
    terms: model.terms
      .slice(1)
      .map(({ term, estimate, plusMinus95 }) => ({ kind: kindOf(term), name: termWords(term, ranges), seconds: estimate, plusMinus95 })),
    scatterS: model.scatter,
    pureScatterS: pureError.degrees > 0 ? Math.sqrt(pureError.sumOfSquares / pureError.degrees) : null,
    degrees: model.degrees,
    explained: model.explained,
    points: runs.map(({ id }, i) => {
      const residual = model.residuals[i] as number;
      return { run: id, seconds: seconds[i] as number, expected: (seconds[i] as number) - residual, residual };
    }),
    ...quickest,
    notes: [...notes, ...notProposed],
  };
}

/** Squares and products, one after the other, as long as the runs can tell them and enough are left for the scatter. */
function withMore(
  modelOf: (terms: readonly Term[]) => ResponseModel,
  mains: readonly Term[],
  ranges: readonly SettingRange[],
  notes: string[],
): ResponseModel {
  let model = modelOf(mains);
  let terms = [...mains];
  const squares: Term[] = ranges.flatMap(({ levels }, i) => (levels > 2 ? [[i, i]] : []));
  const products: Term[] = ranges.flatMap((_, a) => ranges.slice(a + 1).map((_, k) => [a, a + 1 + k]));
  const untold: string[] = [];
  for (const term of model.fullRank ? [...squares, ...products] : []) {
    if (model.degrees - 1 < LEAST_DEGREES) break;
    const next = modelOf([...terms, term]);
    if (!next.fullRank) untold.push(termWords(term, ranges));
    else [model, terms] = [next, [...terms, term]];
  }
  if (untold.length > 0) notes.push(`in these runs, ${untold.join(", ")} cannot be told from what is fitted`);
  return model;
}

function blocksOf(runs: readonly Timed[], terms: number, by: readonly StrataFactor[] | undefined, notes: string[]) {
  const says = levelsOf(runs);
  const numbered = (factors: readonly StrataFactor[]) => {
    const names = runs.map((run) => factors.map((factor) => says[factor](run)).join(", "));
    const order = [...new Set(names)];
    return names.map((name) => order.indexOf(name));
  };
  const within: StrataFactor[] = [];
  for (const factor of by ?? USUAL) {
    if (new Set(runs.map((run) => says[factor](run))).size < 2) continue;
    const blocks = Math.max(...numbered([...within, factor]));
    if (runs.length - terms - blocks >= LEAST_DEGREES || by !== undefined) within.push(factor);
    else notes.push(`too few runs to compare within each ${factor}`);
  }
  return { within, blocks: within.length === 0 ? [] : numbered(within) };
}

/** Twice the main effect: squares cancel between low and high, products vanish at the middle. */
function worthOf({ terms }: ResponseModel, factor: number): ResponseFactor["worth"] {
  const main = terms.find(({ term }) => term.length === 1 && term[0] === factor);
  return main?.plusMinus95 == null ? null : { seconds: 2 * main.estimate, plusMinus95: 2 * main.plusMinus95 };
}

const kindOf = (term: Term): ResponseTerm["kind"] => (term.length < 2 ? "main" : term[0] === term[1] ? "square" : "product");

const termWords = (term: Term, ranges: readonly SettingRange[]): string =>
  kindOf(term) === "square" ? `${ranges[term[0] as number]?.name} squared` : term.map((factor) => ranges[factor]?.name).join(" x ");
