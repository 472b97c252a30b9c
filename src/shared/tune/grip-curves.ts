/**
 * The grip curve of each surface from the launches on it. What the launches did not show is null and says why, and which run would show it.
 * Never throws when data are missing. Pure with a fixed seed, so that the same runs give the same figures.
 */
import { LEAST_RATIO_MPS } from "../align/slip.ts";
import { evenly } from "../kernel/evenly.ts";
import { saidSpeed } from "../kernel/shown-units.ts";
import type { Calibration } from "../align/calibration.ts";
import type { FittedCar } from "./fitted-car.ts";
import { fitGrip, type GripFit, type OriginSlope } from "./fit-grip.ts";
import { type FrictionBins, frictionBins } from "./friction-bins.ts";
import { type ForceCar, frictionRows } from "./friction-rows.ts";
import type { GripCurve } from "./grip-curve.ts";
import { gripInterval } from "./grip-interval.ts";
import { gripPoints } from "./grip-points.ts";
import { formulaOf } from "./grip-shape.ts";
import { runGripNotes } from "./run-grip.ts";
import type { TuneRun } from "./tune-run.ts";
import { extentOf, whyUnknown } from "./peak-seen.ts";
import { TWO_SIDED_95 } from "../kernel/statistics.ts";

const LEAST_ROWS = 50;
/** So many runs tell where to start a fit, and how far an error that all runs share moves it. */
const ENOUGH_RUNS = 40;
/** Best slips from which each fit starts; one of them leads to tyres that are far from usual. */
const STARTS: readonly number[] = [0.07, 0.13, 0.25];
const START_SHAPE = [0, Math.log(1.6), Math.log(0.5)] as const;
/**
 * Relative error of the slope at the origin: gentle driving and launches have different roads and temperatures, and the curve bends before
 * this shows.
 */
const ORIGIN_SHARE = 0.15;
/** Smoothing over a peak makes friction too low: by 1 to 2.5 % on two generators. */
const SMEARED_PEAK_95 = 0.025;

/** In the order in which they were first driven; null where none was noted. `runs` in driving order. */
export const surfacesOf = (runs: readonly TuneRun[]): (string | null)[] => [...new Set(runs.map((run) => run.surface))];

/** The curve of one surface, from those of the runs that were driven on it. */
export const gripCurve = (surface: string | null, runs: readonly TuneRun[], car: FittedCar): GripCurve =>
  curveOf(
    surface,
    runs.filter((run) => run.surface === surface),
    car,
  );

/** One curve for each surface. */
export const gripCurves = (runs: readonly TuneRun[], car: FittedCar): GripCurve[] =>
  surfacesOf(runs).map((surface) => gripCurve(surface, runs, car));

function curveOf(surface: string | null, runs: readonly TuneRun[], car: FittedCar): GripCurve {
  const all = runs.map((run) => frictionRows(run, car));
  const rows = all.filter((one) => one.slip.length > 0);
  const notes = [...all.flatMap((one) => one.notes), ...(car.load.why === undefined ? [] : [car.load.why])];
  const used = rows.map((one) => one.run);
  const count = rows.reduce((sum, one) => sum + one.slip.length, 0);
  if (count < LEAST_ROWS) {
    const nothing = {
      surface,
      runs: used,
      bestSlip: null,
      peakFriction: null,
      largestSlip: null,
      curve: [],
      formula: null,
      resampled: [],
      runGrip: [],
    };
    return { ...nothing, why: whyNothing(runs), notes };
  }
  const origin = originSlope(runs, car);
  const bins = rows.map(frictionBins);
  const { fit, rows: gripRows } = bestFit(bins, origin);
  const groups = runs.filter((run) => used.includes(run.id)).map((run) => run.label);
  const interval = gripInterval(fit, gripRows, groups);
  const known = shiftByForces(runs, car, fit, origin);
  const smeared = runs.some(({ samples }) => samples.deliveredNm === null);
  if (smeared)
    notes.push(
      "Runs without torque: acceleration is that of a smooth curve through the speeds, what changes fast is smeared and counts less",
    );
  const best = Math.exp(fit.parameters[0]);
  const peak = Math.exp(fit.parameters[1]);
  const bestSlip = {
    value: best,
    plusMinus95: Math.hypot(best * interval.bestSlip95, best * known.bestSlip95, (1 + best) * radiusShare95(runs)),
  };
  // What the set-up leaves open is a bound; the rest scatters.
  const scatter95 = Math.hypot(interval.peakFriction95, known.peakFriction95, smeared ? SMEARED_PEAK_95 : 0);
  const peakFriction = { value: peak, plusMinus95: peak * (scatter95 + car.load.share95) };
  const extent = extentOf(rows, best);
  const why = whyUnknown(extent, bestSlip);
  return {
    surface,
    runs: used,
    bestSlip: why === null ? bestSlip : null,
    peakFriction: why === null ? peakFriction : null,
    why,
    largestSlip: extent.largest,
    curve: gripPoints(bins, car.load.share95),
    formula: formulaOf(fit.parameters),
    resampled: interval.resampled.map(formulaOf),
    ...runGripNotes(used, gripRows, fit, notes),
  };
}

function whyNothing(runs: readonly TuneRun[]): string {
  if (runs.every(({ samples }) => samples.motorRadps === null)) return "slip is unknown: no run has motor speed";
  if (runs.every(({ calibration }) => calibration === null || calibration.rollingRadiusM.from === "unknown")) {
    return "slip is unknown: the rolling radius is not known; name tyre or rollingRadiusM in the set-up, or drive gently for two minutes";
  }
  return `no launch has half a second of slip and acceleration above ${saidSpeed(LEAST_RATIO_MPS)}`;
}

/** The best fit of those from all starts; of a long season some runs tell which start that is. */
function bestFit(bins: readonly FrictionBins[], origin: OriginSlope | null): ReturnType<typeof fitGrip> {
  const some = evenly(bins, ENOUGH_RUNS);
  const fits = STARTS.map((best) => fitGrip(some, origin, [Math.log(best), ...START_SHAPE]));
  const found = fits.reduce((least, one) => (one.fit.cost < least.fit.cost ? one : least));
  return some === bins ? found : fitGrip(bins, origin, found.fit.parameters);
}

/** Slope of friction at zero slip, from the slip per torque of the calibration on gentle driving; null where that was not calibrated. */
function originSlope(runs: readonly TuneRun[], car: FittedCar): OriginSlope | null {
  const calibrations = runs.map((run) => run.calibration).filter((one): one is Calibration => one?.slipPerNm.from === "calibrated");
  const newest = calibrations.at(-1);
  if (newest === undefined || !(newest.slipPerNm.value > 0)) return null;
  const { value, plusMinus95 } = newest.slipPerNm;
  return {
    value: car.gearRatio / newest.rollingRadiusM.value / (car.load.staticN * value),
    share: Math.hypot(ORIGIN_SHARE, plusMinus95 / TWO_SIDED_95 / value),
  };
}

/** An error of the rolling radius changes the slip of every run in the same way: the widest of their calibrations, relative. */
function radiusShare95(runs: readonly TuneRun[]): number {
  const radii = runs.flatMap(({ calibration }) => (calibration === null ? [] : [calibration.rollingRadiusM]));
  return Math.max(0, ...radii.map(({ value, plusMinus95 }) => plusMinus95 / value));
}

/** Relative 95 % half widths from an error of one standard deviation each in drag and rolling resistance. */
function shiftByForces(
  all: readonly TuneRun[],
  car: FittedCar,
  fit: GripFit,
  origin: OriginSlope | null,
): { bestSlip95: number; peakFriction95: number } {
  const runs = evenly(all, ENOUGH_RUNS);
  const fitOf = (of: ForceCar) => {
    const rows = runs.map((run) => frictionRows(run, of)).filter((one) => one.slip.length > 0);
    return fitGrip(rows.map(frictionBins), origin, fit.parameters).fit.parameters;
  };
  const from = runs === all ? fit.parameters : fitOf(car);
  let [best, peak] = [0, 0];
  for (const key of ["dragAreaM2", "rollingResistance"] as const) {
    const shifted = fitOf({ ...car, [key]: { ...car[key], value: car[key].value + car[key].plusMinus95 } });
    best = Math.hypot(best, shifted[0] - from[0]);
    peak = Math.hypot(peak, shifted[1] - from[1]);
  }
  return { bestSlip95: best, peakFriction95: peak };
}
