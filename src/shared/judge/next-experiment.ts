/**
 * The next experiment that a response asks for: screening by a two-level fraction, then centre and star points for the best two settings, then the
 * best against the usual. Settings stay within what was tried, or within the levels given. An impossible one throws RangeError.
 */
import { inscribedComposite, screeningDesign } from "./factorial-design.ts";
import type { Response } from "./response.ts";
import { chosen, type ChosenSetting } from "./response-best.ts";
import { roundedBetween, type SettingRange } from "./settings.ts";

export type ExperimentKind = "screening" | "composite" | "confirm";

export interface Experiment {
  readonly kind: ExperimentKind;
  /** "2^(4-1)", "centre and star points". */
  readonly name: string;
  readonly why: string;
  /** Each is one group of the plan. */
  readonly settings: readonly ChosenSetting[];
  readonly runsPerSetting: number;
  /** What the second setting should gain over the first; of "confirm" alone. */
  readonly expected: { readonly gainS: number; readonly plusMinus95: number | null } | null;
}

/** Each setting is driven both ways, and shows the scatter by itself. */
const RUNS_PER_SETTING = 2;
/** As docs/judging.md suggests for two groups. */
const RUNS_TO_CONFIRM = 6;

const at = ({ low, high }: SettingRange, level: number) => (low + high) / 2 + (level * (high - low)) / 2;

export function screening(ranges: readonly SettingRange[]): Experiment {
  const { name, resolution, runs, mixed } = screeningDesign(ranges.length);
  const pairs = mixed.map((group) => group.map(([a, b]) => `${ranges[a]?.name} x ${ranges[b]?.name}`).join(" with "));
  return {
    kind: "screening",
    name,
    why: `${runs.length} settings tell what each of ${ranges.length} is worth by itself${resolution === null ? " and together" : `; not told apart: ${pairs.join("; ") || "products of three and more"}`}`,
    settings: runs.map((levels) =>
      chosen(
        ranges,
        levels.map((level, i) => at(ranges[i] as SettingRange, level)),
      ),
    ),
    runsPerSetting: RUNS_PER_SETTING,
    expected: null,
  };
}

/** How many of their own half widths a setting's worth is; 0 where it is unknown. */
const clearness = (factor: Response["factors"][number] | undefined) =>
  factor?.worth == null ? 0 : Math.abs(factor.worth.seconds) / factor.worth.plusMinus95;

/** "gain and ramp are told best"; a setting that these runs do not tell is named as such. */
function toldWords(two: readonly (Response["factors"][number] | undefined)[]): string {
  const [told, untold] = [true, false].map((is) => two.filter((factor) => clearness(factor) > 0 === is).map((factor) => factor?.name));
  const [best, open] = [told?.join(" and "), untold?.join(" and ")];
  if (open === "") return `${best} are told best`;
  return `${best === "" ? "" : `${best} is told best, `}these runs do not tell what ${open} is worth`;
}

/** Centre and star points of the two settings that are worth most; all others stay as they were driven most. */
export function composite({ factors, usual }: Response): Experiment {
  const best = factors.map((_, i) => i).sort((a, b) => clearness(factors[b]) - clearness(factors[a]));
  const [a, b] = best.slice(0, 2).sort((x, y) => x - y);
  if (a === undefined || b === undefined) throw new RangeError("Centre and star points need two settings that differ between the runs");
  const rounded = (range: SettingRange, level: number) => roundedBetween(range.low, range.high, at(range, level));
  const settings = inscribedComposite(1).map((levels) =>
    chosen(
      factors,
      usual.values.map((value, i) =>
        i === a ? rounded(factors[a] as SettingRange, levels[0]) : i === b ? rounded(factors[b] as SettingRange, levels[1]) : value,
      ),
    ),
  );
  return {
    kind: "composite",
    name: "centre and star points",
    why: `${toldWords([a, b].map((i) => factors[i]))}; this shows where between ${[a, b].map((i) => `${factors[i]?.low} and ${factors[i]?.high}${factors[i]?.unit === "" ? "" : ` ${factors[i]?.unit}`}`).join(", ")} the quickest lies`,
    settings,
    runsPerSetting: RUNS_PER_SETTING,
    expected: null,
  };
}

export function confirm({ usual, best }: Response): Experiment {
  if (usual.label === best.label) throw new RangeError(`The usual setting is the quickest that was tried: ${usual.label}; try others`);
  return {
    kind: "confirm",
    name: "two groups",
    why: `the model expects ${best.label} to be quicker than ${usual.label}: drive both`,
    settings: [usual, best].map(({ label, values }) => ({ label, values })),
    runsPerSetting: RUNS_TO_CONFIRM,
    expected: { gainS: best.gainS, plusMinus95: best.plusMinus95 },
  };
}

/** What to drive next; null where the usual setting is the quickest and everything tried is told. */
export function nextExperiment(response: Response): Experiment | null {
  const { factors, terms } = response;
  const bent = terms.some(({ kind }) => kind === "square");
  const both = terms.some(({ kind }) => kind === "product");
  if (factors.length > 2 || (factors.length === 2 && !(bent && both))) return composite(response);
  return response.usual.label === response.best.label ? null : confirm(response);
}
