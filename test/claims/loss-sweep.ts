/** Lost time by cause on test days of known truth, on both generators: how near, how often inside the interval, and how many days keep to the promise. */
import type { Sweep } from "./decoy-sweep.ts";
import type { LossCase, LossFigure, LossOutcome } from "./judge-loss-day.ts";
import type { LossJob } from "./loss-worker.ts";
import { createPool } from "./pool.ts";
import { type ClaimLine, claimLine, rowsOf, TABLE_HEAD } from "./summary.ts";
import { binomialBelow } from "./tally.ts";
import type { TuneDayClass } from "./tune-day.ts";

const FIRST_SEED = 95_000;
/** A cause is told within this of the truth, on all days but those that chance allows at one in a hundred. */
const WITHIN_S = 0.05;
const WITHIN_SHARE = 0.1;
const ALLOWED_SHARE = 0.01;
const REFUTED = 0.001;
/** Where neither truth nor claim is more than this there is nothing to cover. */
const SOMETHING_S = 0.02;

const simulatedPasses = [null, 0.085, null, 0.085, 0.085, null];
const secondPasses = [null, 0.06, null, 0.06, 0.06, null];

export const LOSS_CLASSES: readonly { readonly name: string; readonly day: TuneDayClass }[] = [
  { name: "lost time: simulated car, dry", day: { car: "first", surface: "dry", allowed: simulatedPasses } },
  { name: "lost time: simulated car, wet", day: { car: "first", surface: "wet", allowed: simulatedPasses } },
  { name: "lost time: second car, dry", day: { car: "second", surface: "dry", allowed: secondPasses } },
  { name: "lost time: second car, wet", day: { car: "second", surface: "wet", allowed: secondPasses } },
];

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

/** `cases` days of each class whose name holds `only`; `tell` gets each class's table as it is done. */
export async function sweepLosses(cases: number, only: string, tell: (table: string) => void): Promise<Sweep> {
  const pool = createPool<LossJob, LossCase>("./loss-worker.ts");
  const tables: string[] = [];
  const failures: string[] = [];
  for (const { name, day } of LOSS_CLASSES.filter((one) => one.name.includes(only))) {
    const judged = await pool.run(Array.from({ length: cases }, (_, i) => ({ seed: FIRST_SEED + i, day })));
    const outcomes = judged.flatMap((one) => one.outcomes);
    const of = (figure: LossFigure) => outcomes.filter((one) => one.figure === figure);
    const lines = FIGURES.flatMap((figure): ClaimLine[] => {
      const told = of(figure).filter(isSomething);
      return told.length === 0 ? [] : [claimLine({ what: WHAT[figure], outcomes: told, unit: "ms", scale: 1000, mostRms: null })];
    });
    const far = FIGURES.map((figure) => ({ figure, n: of(figure).length, far: of(figure).filter((one) => !isNear(one)).length }));
    const untold = judged.reduce((sum, one) => sum + one.untold, 0);
    const near = far.map(({ figure, n, far: count }) => `${WHAT[figure]} ${n - count} of ${n}`).join(", ");
    const table = `### ${name}\n\n${cases} days of ${day.allowed.length} launches in two groups; ${untold} groups had no quickest told. Within 0.05 s + 10 %: ${near}.\n\n${TABLE_HEAD}\n${rowsOf(lines)}\n`;
    tell(table);
    tables.push(table);
    failures.push(...lines.flatMap((line) => line.failures.map((failure) => `${name}: ${line.what}: ${failure}`)));
    for (const { figure, n, far: count } of far)
      if (count > 0 && 1 - binomialBelow(count - 1, n, ALLOWED_SHARE) < REFUTED)
        failures.push(`${name}: ${WHAT[figure]}: ${count} of ${n} groups further than 0.05 s + 10 % from the truth`);
  }
  await pool.close();
  return { table: tables.join("\n"), failures };
}
