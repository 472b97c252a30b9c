/** Lost time by cause on test days of known truth: how exact, how often inside the interval, and how many days keep the promise. */
import type { Sweep } from "./decoy-sweep.ts";
import type { LossCase, LossFigure, LossOutcome } from "./judge-loss-day.ts";
import { type ClaimLine, claimLine, rowsOf, TABLE_HEAD } from "./summary.ts";
import { binomialBelow } from "./tally.ts";

/** Each cause is within this of the truth on all days, except as many as chance allows at one in a hundred. */
const WITHIN_S = 0.05;
const WITHIN_SHARE = 0.1;
const ALLOWED_SHARE = 0.01;
const REFUTED = 0.001;
/** Where truth and claim are both smaller there is nothing to check. */
const SOMETHING_S = 0.02;

const WHAT: Readonly<Record<LossFigure, string>> = {
  quickest: "quickest",
  spin: "spun away",
  heldBack: "held back",
  askedLate: "asked late",
  rest: "no cause told",
};
const FIGURES = Object.keys(WHAT) as LossFigure[];

export const isNear = ({ error, truth }: LossOutcome) => Math.abs(error) <= WITHIN_S + WITHIN_SHARE * Math.abs(truth);
const isSomething = ({ error, truth }: LossOutcome) => Math.abs(truth) > SOMETHING_S || Math.abs(truth + error) > SOMETHING_S;

/** What is found of the days of one class, each of `launches`. */
export function sumUpLosses(name: string, judged: readonly LossCase[], launches: number): Sweep {
  const outcomes = judged.flatMap((one) => one.outcomes);
  const of = (figure: LossFigure) => outcomes.filter((one) => one.figure === figure);
  const lines = FIGURES.flatMap((figure): ClaimLine[] => {
    const told = of(figure).filter(isSomething);
    return told.length === 0 ? [] : [claimLine({ what: WHAT[figure], outcomes: told, unit: "ms", scale: 1000, mostRms: null })];
  });
  const far = FIGURES.map((figure) => ({ figure, n: of(figure).length, far: of(figure).filter((one) => !isNear(one)).length }));
  const untold = judged.reduce((sum, one) => sum + one.untold, 0);
  const near = far.map(({ figure, n, far: count }) => `${WHAT[figure]} ${n - count} of ${n}`).join(", ");
  const told = `${judged.length} days of ${launches} launches in two groups; ${untold} groups had no quickest told. Within 0.05 s + 10 %: ${near}.`;
  const failures = lines.flatMap((line) => line.failures.map((failure) => `${name}: ${line.what}: ${failure}`));
  for (const { figure, n, far: count } of far)
    if (count > 0 && 1 - binomialBelow(count - 1, n, ALLOWED_SHARE) < REFUTED)
      failures.push(`${name}: ${WHAT[figure]}: ${count} of ${n} groups further than 0.05 s + 10 % from the truth`);
  return { table: `### ${name}\n\n${told}\n\n${TABLE_HEAD}\n${rowsOf(lines)}\n`, failures };
}
