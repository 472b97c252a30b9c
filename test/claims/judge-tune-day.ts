/** A test day of known truth, its set-up exact or off, held against the fitted car and the grip curve. A figure that is not claimed gives no outcome; what is claimed of the peak is told. */
import type { CarFigure, Figure } from "../../src/shared/tune/figure.ts";
import { fitCar } from "../../src/shared/tune/fit-car.ts";
import type { ForceBlocks } from "../../src/shared/tune/force-blocks.ts";
import { gripCurves } from "../../src/shared/tune/grip-curves.ts";
import type { TuneRun } from "../../src/shared/tune/tune-run.ts";
import type { Outcome } from "./tally.ts";
import { type TuneDay, type TuneDayTruth, withSetUpOff } from "./tune-day.ts";

/** Relative errors but for best slip, which is in slip itself. */
const TUNE_FIGURES = [
  "bestSlip",
  "peakFriction",
  "dragAreaM2",
  "rollingResistance",
  "axleInertiaKgM2",
  "fullTorqueNm",
  "fullPowerW",
  "torqueRatio",
] as const;
export type TuneFigure = (typeof TUNE_FIGURES)[number];

export interface TuneCase {
  readonly outcomes: Readonly<Partial<Record<TuneFigure, Outcome>>>;
  /**
   * Whether the launches really held slip on both sides of the best one, by a wide margin; null: by a narrow margin, where either answer is
   * acceptable.
   */
  readonly passed: boolean | null;
  readonly said: boolean;
  readonly why: string | null;
}

/** Slip this much over and under the best for a fifth of a second is passed; less than a tenth of a second over it is not. */
const WELL_OVER = 0.3;
const WELL_UNDER = 0.15;
const HELD_S = 0.2;
const HARDLY_S = 0.1;

/** One answer for each of `offs`: how far mass, height and weight share of the set-up are off, up or down by the lot of `seed`. The runs are derived once, under the exact one. */
export function judgeTuneDay(known: Pick<TuneDay, "runs" | "gentle" | "truth">, seed: number, offs: readonly number[]): TuneCase[] {
  return offs.map((off) => judge(withSetUpOff(seed, known.runs, off), known.gentle, known.truth, off));
}

function judge(runs: readonly TuneRun[], gentle: readonly ForceBlocks[], truth: TuneDayTruth, off: number): TuneCase {
  const car = fitCar(runs, { gentle, tolerance: { mass: off, frontWeightShare: off, cgHeight: off } });
  const [curve] = gripCurves(runs, car);
  const relative = (figure: CarFigure | Figure | null | undefined, true_: number): Outcome | undefined =>
    figure?.value == null || figure.plusMinus95 == null
      ? undefined
      : { error: figure.value / true_ - 1, plusMinus95: figure.plusMinus95 / true_ };
  const best = curve.bestSlip;
  const claimed: Partial<Record<TuneFigure, Outcome | undefined>> = {
    bestSlip: best === null ? undefined : { error: best.value - truth.bestSlip, plusMinus95: best.plusMinus95 },
    peakFriction: relative(curve.peakFriction, truth.peakFriction),
    dragAreaM2: relative(car.dragAreaM2, truth.dragAreaM2),
    rollingResistance: relative(car.rollingResistance, truth.rollingResistance),
    axleInertiaKgM2: relative(car.axleInertiaKgM2, truth.axleInertiaKgM2),
    fullTorqueNm: relative(car.fullTorqueNm, truth.fullTorqueNm),
    fullPowerW: relative(car.fullPowerW, truth.fullPowerW),
    torqueRatio: off > 0 ? undefined : relative(car.torqueCheck?.ratio, truth.torqueRatio),
  };
  const well = truth.secondsOver(WELL_OVER) >= HELD_S && truth.secondsUnder(WELL_UNDER) >= HELD_S;
  return {
    outcomes: Object.fromEntries(Object.entries(claimed).filter(([, outcome]) => outcome !== undefined)),
    passed: well ? true : truth.secondsOver(0) < HARDLY_S ? false : null,
    said: best !== null,
    why: curve.why,
  };
}
