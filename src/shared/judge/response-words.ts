/** A response to settings as lines for people; command line and screen print the same. */
import type { GainKept } from "./expected-gain.ts";
import type { Experiment } from "./next-experiment.ts";
import type { Response, ResponseFactor } from "./response.ts";
import { fixed, percent, quickerOrSlower } from "./wording.ts";

export interface ResponseTold {
  readonly gate: string;
  readonly response: Response | null;
  readonly why: string | null;
  readonly next: Experiment | null;
  readonly kept: readonly GainKept[];
}

const withUnit = (value: number, unit: string) => (unit === "" ? String(value) : `${value} ${unit}`);

/** "0.21 s quicker ± 0.05"; a half width that two places would print as nothing gets three. */
function toldGain(seconds: number, plusMinus95: number | null): string {
  if (plusMinus95 === null) return quickerOrSlower(seconds);
  const decimals = plusMinus95 < 0.01 ? 3 : 2;
  return `${quickerOrSlower(seconds, decimals)} ± ${fixed(plusMinus95, decimals)}`;
}

/** "slip target from 6 to 10 %: 0.21 s quicker ± 0.05" */
function factorWords({ name, unit, low, high, worth }: ResponseFactor): string {
  const scale = `${name} from ${low} to ${withUnit(high, unit)}`;
  if (worth === null) return `${scale}: unknown`;
  const sure = Math.abs(worth.seconds) > worth.plusMinus95;
  return `${scale}: ${toldGain(worth.seconds, worth.plusMinus95)}${sure ? "" : ", which may be nothing"}`;
}

function bestWords({ usual, best, factors }: Response): string {
  const untold = factors.filter(({ worth }) => worth === null).map(({ name }) => name);
  const asUsual =
    untold.length === 0 ? "" : `. There ${untold.join(" and ")} stays as it was driven most: these runs do not tell what it is worth`;
  if (usual.label === best.label) return `Quickest within what was tried: the usual setting, ${usual.label}`;
  return `Quickest within what was tried: ${best.label}, expected ${toldGain(best.gainS, best.plusMinus95)} than ${usual.label}${asUsual}`;
}

function modelWords({ points, within, degrees, scatterS, pureScatterS, explained }: Response): string {
  const scatter =
    scatterS === null ? "no run left to tell the scatter" : `scatter of a run ${fixed(scatterS, 3)} s (${degrees} degrees of freedom)`;
  const pure = pureScatterS === null ? "" : `, of runs with equal settings ${fixed(pureScatterS, 3)} s`;
  return `${points.length} runs${within.length === 0 ? "" : `, within ${within.join(", ")}`}: ${scatter}${pure}${explained === null ? "" : `; ${percent(explained)} of the variance explained`}`;
}

export function responseLines({ gate, response, why, next, kept }: ResponseTold): string[] {
  const lines =
    response === null
      ? [`${gate}: ${why}.`]
      : [
          `${gate}, what each setting is worth with the others at their middle:`,
          ...response.factors.map((factor) => `  ${factorWords(factor)}`),
          ...response.terms
            .filter(({ kind }) => kind !== "main")
            .map(
              ({ name, seconds, plusMinus95 }) =>
                `  ${name}: ${fixed(seconds, 3)} s${plusMinus95 === null ? "" : ` ± ${fixed(plusMinus95, 3)}`}, on the scale from -1 (least tried) to +1 (most)`,
            ),
          `${modelWords(response)}.`,
          `${bestWords(response)}.`,
          ...response.notes.map((note) => `  Note: ${note}.`),
        ];
  if (next !== null) lines.push(`Next: ${next.name}, ${next.settings.length} settings with ${next.runsPerSetting} runs each: ${next.why}.`);
  return [...lines, ...kept.map(({ words }) => `Expected gain: ${words}.`)];
}
