/**
 * Where a run's seconds went: at each step of speed, the time taken minus the least possible time, assigned to one cause. The causes add up
 * to the gate's seconds minus the quickest time. A step with unknown torque or slip goes to "rest", and the sum of these is given.
 */
import type { FittedCar } from "./fitted-car.ts";
import { fullTorqueAtWheel, type Quickest } from "./quickest.ts";

export const LOSS_CAUSES = ["spin", "heldBack", "askedLate", "rest"] as const;
export type LossCause = (typeof LOSS_CAUSES)[number];

/** More slip speed than this many times that of best slip is spin. */
export const SPINNING = 1.15;
/** Shares of full torque at that speed. */
const HELD_SHARE = 0.02;
export const ASKED_SHARE = 0.97;

/** One run between two speeds; columns of one length, NaN where unknown, times rising. */
export interface LossRun {
  readonly tS: ArrayLike<number>;
  readonly groundSpeedMps: ArrayLike<number>;
  readonly slipSpeedMps: ArrayLike<number>;
  readonly askedNm: ArrayLike<number>;
  readonly deliveredNm: ArrayLike<number>;
  readonly from: { readonly atS: number; readonly speedMps: number };
  readonly to: { readonly atS: number; readonly speedMps: number };
}

/** The time between neighbouring samples and what was lost in it; below 0 where it was quicker than the fitted car can be. */
export interface LossStep {
  readonly fromMps: number;
  readonly toMps: number;
  readonly seconds: number;
  readonly cause: LossCause;
  /** False where torque or slip was unknown, so the cause is unknown. */
  readonly told: boolean;
}

/** Shifts the boundaries between causes, to find the effect of an error of slip or torque. */
export interface Doubt {
  /** Added to slip speed over ground speed. */
  readonly slip: number;
  /** Added to the share of full torque that counts as held back, and to the share that counts as asked for. */
  readonly torqueShare: number;
}

const CERTAIN: Doubt = { slip: 0, torqueShare: 0 };

interface Moment {
  readonly speedMps: number;
  readonly slipMps: number;
  readonly askedNm: number;
  readonly deliveredNm: number;
}

function causeOf(
  { speedMps, slipMps, askedNm, deliveredNm }: Moment,
  car: FittedCar,
  bestSlip: number,
  doubt: Doubt,
): { cause: LossCause; told: boolean } {
  const slip = slipMps + doubt.slip * speedMps;
  if (slip > SPINNING * bestSlip * speedMps) return { cause: "spin", told: true };
  const fullNm = fullTorqueAtWheel(car, speedMps + slipMps);
  if (Number.isNaN(slip) || Number.isNaN(askedNm)) return { cause: "rest", told: false };
  if (askedNm - deliveredNm > (HELD_SHARE + doubt.torqueShare) * fullNm) return { cause: "heldBack", told: true };
  if (askedNm < (ASKED_SHARE + doubt.torqueShare) * fullNm) return { cause: "askedLate", told: !Number.isNaN(deliveredNm) };
  return { cause: "rest", told: !Number.isNaN(deliveredNm) };
}

/** Steps from `run.from` to `run.to`. Samples of unknown speed are skipped: their time belongs to the step across them. */
export function lossSteps(run: LossRun, car: FittedCar, quickest: Quickest, bestSlip: number, doubt: Doubt = CERTAIN): LossStep[] {
  const { tS, groundSpeedMps, slipSpeedMps, askedNm, deliveredNm, from, to } = run;
  const steps: LossStep[] = [];
  let before = from;
  let least = quickest.timeS(from.speedMps);
  const stepTo = (atS: number, speedMps: number, row: number) => {
    const next = quickest.timeS(speedMps);
    // Slip and torque of the sample that ends the step; the last step, up to the gate, ends before its sample.
    const moment = {
      speedMps,
      slipMps: slipSpeedMps[row] ?? Number.NaN,
      askedNm: askedNm[row] ?? Number.NaN,
      deliveredNm: deliveredNm[row] ?? Number.NaN,
    };
    const cause = causeOf(moment, car, bestSlip, doubt);
    steps.push({ fromMps: before.speedMps, toMps: speedMps, seconds: atS - before.atS - (next - least), ...cause });
    before = { atS, speedMps };
    least = next;
  };
  let row = 0;
  for (; row < tS.length && tS[row] < to.atS; row += 1) {
    const speed = groundSpeedMps[row];
    if (tS[row] > from.atS && Number.isFinite(speed)) stepTo(tS[row], Math.max(0, speed), row);
  }
  stepTo(to.atS, to.speedMps, Math.min(row, tS.length - 1));
  return steps;
}

export type LossSums = Record<LossCause, number>;

const none = (): LossSums => ({ spin: 0, heldBack: 0, askedLate: 0, rest: 0 });

export function sumByCause(steps: readonly LossStep[]): LossSums {
  const sums = none();
  for (const { cause, seconds } of steps) sums[cause] += seconds;
  return sums;
}

/** The same by bands of speed, `bandMps` wide, from 0 up; a step belongs to the band of its midpoint. */
export function sumByBand(steps: readonly LossStep[], bandMps: number, topMps: number): LossSums[] {
  const bands = Array.from({ length: Math.max(1, Math.ceil(topMps / bandMps - 1e-9)) }, none);
  for (const { fromMps, toMps, seconds, cause } of steps) {
    const at = Math.min(bands.length - 1, Math.max(0, Math.floor((fromMps + toMps) / 2 / bandMps)));
    (bands[at] as LossSums)[cause] += seconds;
  }
  return bands;
}
