/**
 * Regression of a response on coded factors: main effects, products and squares, with intervals by Student's t, residuals, and pure error where
 * settings were repeated. Throws RangeError where there are fewer runs than terms.
 */
import { linearLeastSquares } from "../kernel/linear-least-squares.ts";
import { studentQuantile } from "./distributions.ts";

/** Factors whose product the term is: [] the mean, [0] a main effect, [0, 1] a product, [2, 2] a square. */
export type Term = readonly number[];

interface FittedTerm {
  readonly term: Term;
  readonly estimate: number;
  /** Null where no run is left to tell the scatter from, or the term cannot be told from others. */
  readonly standardError: number | null;
  readonly plusMinus95: number | null;
}

export interface ResponseModel {
  readonly terms: readonly FittedTerm[];
  readonly residuals: readonly number[];
  /** Runs less terms. */
  readonly degrees: number;
  readonly scatter: number | null;
  /** Share of the response's variance that the terms explain; null where there is none to explain. */
  readonly explained: number | null;
  /** Sum of squares within repeated settings, and its degrees of freedom. */
  readonly pureError: { readonly sumOfSquares: number; readonly degrees: number };
  readonly residualSumOfSquares: number;
  /** Covariance of the terms' estimates over the scatter's square, row by row. */
  readonly inverseGram: Float64Array;
  /** False where a term is a combination of others in these runs. */
  readonly fullRank: boolean;
}

export const productOf = (term: Term, levels: readonly number[]): number =>
  term.reduce((product, factor) => product * (levels[factor] as number), 1);

/** `blocks`: a number for each run; each block has a level of its own, and the mean is then that of the first. */
export function fitResponse(
  levels: readonly (readonly number[])[],
  response: readonly number[],
  terms: readonly Term[],
  blocks: readonly number[] = [],
): ResponseModel {
  const others = [...new Set(blocks)].slice(1);
  // Blocks come first: what differs only between them is then told of the blocks, not of a setting.
  const columns = [
    ...others.map((block) => Float64Array.from(blocks, (own) => (own === block ? 1 : 0))),
    ...terms.map((term) => Float64Array.from(levels, (row) => productOf(term, row))),
  ];
  const at = others.length;
  const y = Float64Array.from(response);
  const fit = linearLeastSquares(columns, y);
  const count = columns.length;
  const degrees = y.length - count;
  const variance = degrees > 0 ? fit.residualSumOfSquares / degrees : null;
  const t = degrees > 0 ? studentQuantile(0.975, degrees) : null;
  const mean = y.reduce((sum, value) => sum + value, 0) / y.length;
  const total = y.reduce((sum, value) => sum + (value - mean) ** 2, 0);
  return {
    terms: terms.map((term, k) => {
      const own = fit.inverseGram[(at + k) * (count + 1)] as number;
      const standardError = variance === null || !Number.isFinite(own) ? null : Math.sqrt(variance * own);
      return {
        term,
        estimate: fit.coefficients[at + k] as number,
        standardError,
        plusMinus95: standardError === null || t === null ? null : t * standardError,
      };
    }),
    residuals: response.map((value, i) =>
      columns.reduce((rest, column, k) => rest - (column[i] as number) * (fit.coefficients[k] as number), value),
    ),
    degrees,
    scatter: variance === null ? null : Math.sqrt(variance),
    explained: total > 0 ? 1 - fit.residualSumOfSquares / total : null,
    pureError: pureErrorOf(levels, response, blocks),
    residualSumOfSquares: fit.residualSumOfSquares,
    inverseGram: Float64Array.from(
      { length: terms.length ** 2 },
      (_, k) => fit.inverseGram[(at + Math.floor(k / terms.length)) * count + at + (k % terms.length)] as number,
    ),
    fullRank: fit.fullRank,
  };
}

function pureErrorOf(levels: readonly (readonly number[])[], response: readonly number[], blocks: readonly number[]) {
  const repeated = new Map<string, number[]>();
  levels.forEach((row, i) => {
    const key = JSON.stringify([row.map((level) => Math.round(level * 1e9)), blocks[i] ?? 0]);
    const known = repeated.get(key);
    if (known === undefined) repeated.set(key, [response[i] as number]);
    else known.push(response[i] as number);
  });
  let [sumOfSquares, degrees] = [0, 0];
  for (const values of repeated.values()) {
    const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
    sumOfSquares += values.reduce((sum, value) => sum + (value - mean) ** 2, 0);
    degrees += values.length - 1;
  }
  return { sumOfSquares, degrees };
}

/** How far a setting lies from the runs that the model was fitted to: those of the runs themselves are its bounds. */
export function leverageOf({ terms, inverseGram }: ResponseModel, levels: readonly number[]): number {
  const row = terms.map(({ term }) => productOf(term, levels));
  return row.reduce((sum, x, i) => row.reduce((inner, z, j) => inner + x * z * (inverseGram[i * row.length + j] as number), sum), 0);
}

/** The difference that the model expects between two settings, with its 95 % half width; null where the scatter is unknown. */
export function expectedDifference(
  { terms, inverseGram, scatter, degrees, fullRank }: ResponseModel,
  from: readonly number[],
  to: readonly number[],
): { readonly value: number; readonly plusMinus95: number | null } {
  const count = Math.sqrt(inverseGram.length);
  const apart = terms.map(({ term }) => productOf(term, to) - productOf(term, from));
  const value = terms.reduce((sum, { estimate }, k) => sum + estimate * (apart[k] as number), 0);
  if (scatter === null || !fullRank) return { value, plusMinus95: null };
  let variance = 0;
  for (let i = 0; i < apart.length; i++)
    for (let j = 0; j < apart.length; j++) variance += (apart[i] as number) * (apart[j] as number) * (inverseGram[i * count + j] as number);
  return { value, plusMinus95: studentQuantile(0.975, degrees) * scatter * Math.sqrt(Math.max(0, variance)) };
}
