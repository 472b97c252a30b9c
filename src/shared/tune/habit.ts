/** How long a group of runs takes to ask for full torque. Null with too few runs. */
import { ASKED_SHARE } from "./losses.ts";
import { studentQuantile } from "../judge/distributions.ts";
import type { Figure } from "./figure.ts";
import { type FittedCar, fullTorqueAt } from "./fitted-car.ts";
import type { TuneRun } from "./tune-run.ts";

const LEAST_RUNS = 2;
/** Mean of one value for each run; `open` is a half width that all of them share. */
function figureOver(values: readonly number[], open: number): Figure | null {
  if (values.length < LEAST_RUNS) return null;
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  const variance = values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (values.length - 1);
  return { value: mean, plusMinus95: Math.hypot(studentQuantile(0.975, values.length - 1) * Math.sqrt(variance / values.length), open) };
}

function* askedRows({ samples, startIndex, endIndex }: TuneRun, car: FittedCar): Generator<{ row: number; asked: number; full: number }> {
  const { askedNm, motorRadps } = samples;
  if (askedNm === null || motorRadps === null) return;
  for (let row = startIndex; row < endIndex; row += 1) {
    const full = fullTorqueAt(car, motorRadps[row]);
    const asked = askedNm[row];
    if (full !== null && full > 0 && Number.isFinite(asked)) yield { row, asked, full };
  }
}

/** Seconds from movement until 97 % of full torque is asked for. */
export function asksAllAfterS(runs: readonly TuneRun[], car: FittedCar): Figure | null {
  const after = runs.flatMap((run) => {
    for (const { row, asked, full } of askedRows(run, car)) {
      if (asked >= ASKED_SHARE * full) return [Math.max(0, run.samples.tS[row] - run.movementS)];
    }
    return [];
  });
  return figureOver(after, 0.01);
}
