/**
 * What a group's launches would have been with a control that looks 3, 10, 50, 200 or 1,000 times a second, each with its best strength
 * (common practice, no source: a combustion engine is derated a few times a second, an electric motor hundreds of times). A simulation.
 */
import { predictOnce, type PredictQuestion } from "./predict.ts";

export interface LookingRate {
  readonly perSecond: number;
  /** Null where it never reaches the gate. */
  readonly seconds: number | null;
  /** Strength relative to the present control's. */
  readonly strength: number;
}

const RATES = [3, 10, 50, 200, 1000] as const;
const STRENGTHS = [2, 1, 0.5, 0.25, 0.12, 0.06, 0.03] as const;

/** Empty where the launches cannot be simulated. */
export function lookingRates(question: PredictQuestion): LookingRate[] {
  return RATES.flatMap((perSecond) => {
    const tries = STRENGTHS.flatMap((strength) => {
      const launch = predictOnce({ ...question, trial: { ...question.trial, everyS: 1 / perSecond, strength } });
      return launch === null ? [] : [{ perSecond, strength, seconds: launch.seconds }];
    });
    const [best] = tries.sort((a, b) => (a.seconds ?? Number.POSITIVE_INFINITY) - (b.seconds ?? Number.POSITIVE_INFINITY));
    return best === undefined ? [] : [best];
  });
}
