/** What a group of runs does each time: the slip it is held at, and how long it takes to ask for everything. Seen in too few runs gives null. */
import { studentQuantile } from "../judge/distributions.ts";
import { median } from "../kernel/statistics.ts";
import type { Figure } from "./figure.ts";
import { type FittedCar, fullTorqueAt } from "./fitted-car.ts";
import type { TuneRun } from "./tune-run.ts";

const HELD_SHARE = 0.02;
const ASKED_SHARE = 0.97;
/** 0.2 s of samples: less is a moment, not a habit. */
const LEAST_ROWS = 20;
const LEAST_RUNS = 2;
/** Mean of one value a run; `open` is what all of them share, a half width. */
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
    const full = fullTorqueAt(car, motorRadps[row] as number);
    const asked = askedNm[row] as number;
    if (full !== null && full > 0 && Number.isFinite(asked)) yield { row, asked, full };
  }
}

function heldSlipOf(run: TuneRun, car: FittedCar): { slip: number; sigma: number } | null {
  const { deliveredNm, slipRatio, slipSigma } = run.samples;
  const [slips, sigmas]: [number[], number[]] = [[], []];
  for (const { row, asked, full } of askedRows(run, car)) {
    const slip = slipRatio[row] as number;
    if (!(asked - (deliveredNm?.[row] ?? Number.NaN) > HELD_SHARE * full) || Number.isNaN(slip)) continue;
    slips.push(slip);
    sigmas.push(slipSigma[row] as number);
  }
  return slips.length < LEAST_ROWS ? null : { slip: median(slips), sigma: median(sigmas) };
}

/** Middle slip while torque is held back, a fraction, above 10 km/h. */
export function heldSlip(runs: readonly TuneRun[], car: FittedCar): Figure | null {
  const held = runs.flatMap((run) => heldSlipOf(run, car) ?? []);
  return figureOver(
    held.map(({ slip }) => slip),
    held.length === 0 ? 0 : 2 * Math.max(...held.map(({ sigma }) => sigma)),
  );
}

/** Seconds from movement until all but 3 % of full torque is asked for. */
export function asksAllAfterS(runs: readonly TuneRun[], car: FittedCar): Figure | null {
  const after = runs.flatMap((run) => {
    for (const { row, asked, full } of askedRows(run, car)) {
      if (asked >= ASKED_SHARE * full) return [Math.max(0, (run.samples.tS[row] as number) - run.movementS)];
    }
    return [];
  });
  return figureOver(after, 0.01);
}
