/**
 * Counts the losses of several runs for one assumption about car, tyre and measurement, and how far other possible assumptions change them.
 * Needs runs that are timed and have a curve.
 */
import { evenly } from "../kernel/evenly.ts";
import { TWO_SIDED_95 } from "../kernel/statistics.ts";
import { KMH_AND_M, MPH_AND_FT, type Units } from "../kernel/shown-units.ts";
import type { FittedCar } from "./fitted-car.ts";
import type { GripCurve } from "./grip-curve.ts";
import { type KnownTyre, knownTyre, times } from "./known-tyre.ts";
import { type Doubt, LOSS_CAUSES, type LossRun, type LossSums, lossSteps, sumByBand, sumByCause } from "./losses.ts";
import { quickestOf } from "./quickest.ts";
import type { TuneRun } from "./tune-run.ts";

/** A formula peaks over or under the tyre itself by this, in all runs alike. Seen on two generators (test/claims). */
const LEVEL_SIGMA = 0.002;
/** Error of torque on the bus relative to full torque (common practice, no source): it changes what counts as held back or asked late. */
const TORQUE_SHARE_SIGMA = 0.005;
/** Enough resampled curves to know a standard deviation to a tenth. */
const MOST_RESAMPLED = 40;

/**
 * Figures of the car that are varied, each by itself. Mass is not one of them: friction and force were calculated with it, so it cancels.
 */
const DOUBTED = [
  "rollingRadiusM",
  "dragAreaM2",
  "rollingResistance",
  "axleInertiaKgM2",
  "fullTorqueNm",
  "fullPowerW",
  "newtonPerNm",
] as const;

/** A run prepared for counting. */
export interface Timed {
  readonly run: TuneRun;
  readonly loss: LossRun;
  readonly seconds: number;
  readonly plusMinus95: number;
  readonly curve: GripCurve;
  /** Standard deviation of slip that all samples of the run share. */
  readonly slipSigma: number;
  /** The run's grip over its curve's, with its standard deviation. */
  readonly grip: { readonly value: number; readonly sigma: number };
}

/** One run's own sums: they add up to its seconds minus its quickest time. */
export interface RunLosses {
  readonly run: number;
  readonly seconds: number;
  readonly quickest: number;
  readonly losses: LossSums;
  /** By bands of speed, 20 km/h each, and 10 mph each. */
  readonly bands: readonly LossSums[];
  readonly mphBands: readonly LossSums[];
  /** Seconds whose cause is unknown because torque or slip is unknown; they are listed under "rest". */
  readonly untoldS: number;
}

/** One assumption about the car and its tyres, in which the boundaries between causes may be shifted too. */
interface World {
  readonly car: FittedCar;
  readonly tyre: (curve: GripCurve) => KnownTyre | null;
  /** Shift of slip, in units of each run's own sigma. */
  readonly slipSigmas: number;
  readonly torqueShare: number;
  /** Shift of each run's own grip, in sigmas. */
  readonly gripSigmas: number;
  /** Factor on the slip that counts as spin. */
  readonly spinTimes: number;
}

export interface Counted {
  readonly quickest: number;
  readonly sums: LossSums;
  /** Both kinds, as allBands() of a run. */
  readonly bands: readonly LossSums[];
  readonly each: readonly RunLosses[];
}

const allBands = ({ bands, mphBands }: RunLosses): readonly LossSums[] => [...bands, ...mphBands];

const zeros = (): LossSums => ({ spin: 0, heldBack: 0, askedLate: 0, rest: 0 });

function meanSums(all: readonly LossSums[]): LossSums {
  const mean = zeros();
  for (const sums of all) for (const cause of LOSS_CAUSES) mean[cause] += sums[cause] / all.length;
  return mean;
}

export function count(runs: readonly Timed[], world: World): Counted {
  const tyres = new Map<GripCurve, KnownTyre>();
  const each = runs.map(({ run, loss, seconds, curve, slipSigma, grip }): RunLosses => {
    const tyre = tyres.get(curve) ?? (world.tyre(curve) as KnownTyre);
    tyres.set(curve, tyre);
    // Each launch is compared with what its own road and temperature allowed.
    const quickest = quickestOf(world.car, times(tyre, grip.value + world.gripSigmas * grip.sigma), loss.to.speedMps);
    const doubt: Doubt = { slip: world.slipSigmas * slipSigma, torqueShare: world.torqueShare };
    const steps = lossSteps(loss, world.car, quickest, world.spinTimes * tyre.spinsFrom, doubt);
    const byBand = ({ mpsPerBand }: Units) => sumByBand(steps, mpsPerBand, loss.to.speedMps);
    return {
      run: run.id,
      seconds,
      quickest: quickest.timeS(loss.to.speedMps) - quickest.timeS(loss.from.speedMps),
      losses: sumByCause(steps),
      bands: byBand(KMH_AND_M),
      mphBands: byBand(MPH_AND_FT),
      untoldS: steps.reduce((sum, step) => sum + (step.told ? 0 : step.seconds), 0),
    };
  });
  const ofRuns = each.map(allBands);
  const bands = (ofRuns[0] ?? []).map((_, i) => meanSums(ofRuns.map((own) => own[i] as LossSums)));
  return {
    quickest: each.reduce((sum, run) => sum + run.quickest, 0) / each.length,
    sums: meanSums(each.map((run) => run.losses)),
    bands,
    each,
  };
}

/** Whether some speed between the two asks more of a tyre than was ever seen of it. */
export function beyondSeen(runs: readonly Timed[], car: FittedCar): boolean {
  return [...new Set(runs.map((run) => run.curve))].some((curve) => {
    const tyre = knownTyre(curve);
    if (tyre === null || tyre.reached) return false;
    const { from, to } = (runs[0] as Timed).loss;
    const quickest = quickestOf(car, tyre, to.speedMps);
    for (let speed = from.speedMps; speed <= to.speedMps; speed += 0.5) if (quickest.at(speed).limit === "tyre") return true;
    return false;
  });
}

/** The likeliest assumption. */
export const worldOf = (car: FittedCar): World => ({
  car,
  tyre: (curve) => knownTyre(curve),
  slipSigmas: 0,
  torqueShare: 0,
  gripSigmas: 0,
  spinTimes: 1,
});

interface Variances {
  quickest: number;
  readonly sums: LossSums;
  readonly bands: readonly LossSums[];
}

/** Each run's own uncertainty, which no other run shares: the squares of its effects are added. */
function addEach(variance: Variances, { best, moved, of }: { best: Counted; moved: Counted; of: number }): void {
  // Squares of some of the runs, for the mean of `of` runs.
  const n = Math.sqrt(best.each.length * of);
  for (const [i, run] of best.each.entries()) {
    const other = moved.each[i] as RunLosses;
    const [own, others] = [allBands(run), allBands(other)];
    variance.quickest += ((other.quickest - run.quickest) / n) ** 2;
    for (const cause of LOSS_CAUSES) {
      variance.sums[cause] += ((other.losses[cause] - run.losses[cause]) / n) ** 2;
      for (const [k, band] of variance.bands.entries())
        band[cause] += (((others[k] as LossSums)[cause] - (own[k] as LossSums)[cause]) / n) ** 2;
    }
  }
}

/** So many runs of a group show how far another assumption moves its means: all runs share the car and its tyres. */
const MOST_SPREAD_RUNS = 24;

/** Variance of each mean of all runs over everything that is uncertain. */
export function spread(all: readonly Timed[], car: FittedCar): Variances {
  const runs = evenly(all, MOST_SPREAD_RUNS);
  const base = worldOf(car);
  const best = count(runs, base);
  const variance: Variances = { quickest: 0, sums: zeros(), bands: best.bands.map(zeros) };
  const add = (worlds: readonly World[]) => {
    const counted = worlds.map((world) => count(runs, world));
    const meanSquare = (pick: (from: Counted) => number) =>
      counted.reduce((sum, one) => sum + (pick(one) - pick(best)) ** 2, 0) / counted.length;
    variance.quickest += meanSquare((from) => from.quickest);
    for (const cause of LOSS_CAUSES) {
      variance.sums[cause] += meanSquare((from) => from.sums[cause]);
      for (const [i, band] of variance.bands.entries()) band[cause] += meanSquare((from) => (from.bands[i] as LossSums)[cause]);
    }
  };
  for (const name of DOUBTED) {
    const figure = car[name];
    const sigma = (figure.plusMinus95 ?? 0) / TWO_SIDED_95;
    if (figure.value === null || !(sigma > 0)) continue;
    const { value } = figure;
    add([sigma, -sigma].map((by) => ({ ...base, car: { ...car, [name]: { ...figure, value: value + by } } })));
  }
  const resampled = Math.min(MOST_RESAMPLED, ...[...new Set(runs.map(({ curve }) => curve))].map((curve) => curve.resampled.length));
  if (resampled > 1) add(Array.from({ length: resampled }, (_, i) => ({ ...base, tyre: (curve: GripCurve) => drawnAnew(curve, i) })));
  else add([1, -1].map((sign) => ({ ...base, tyre: (curve: GripCurve) => doubted(knownTyre(curve), curve, sign / TWO_SIDED_95) })));
  add([1, -1].map((sign) => ({ ...base, tyre: (curve: GripCurve) => lifted(curve, sign * LEVEL_SIGMA) })));
  addEach(variance, { best, moved: count(runs, { ...base, gripSigmas: 1 }), of: all.length });
  // A peak that was not reached may lie at half or twice the formula's best slip.
  if (runs.some(({ curve }) => curve.bestSlip === null)) add([0.5, 2].map((spinTimes) => ({ ...base, spinTimes })));
  add([1, -1].map((slipSigmas) => ({ ...base, slipSigmas })));
  add([TORQUE_SHARE_SIGMA, -TORQUE_SHARE_SIGMA].map((torqueShare) => ({ ...base, torqueShare })));
  return variance;
}

/** The shape from resampled runs at the mean level: each run's own grip is its own uncertainty and must not count twice. */
function drawnAnew(curve: GripCurve, i: number): KnownTyre | null {
  const [whole, drawn] = [knownTyre(curve), knownTyre(curve, curve.resampled[i])];
  return whole === null || drawn === null ? whole : times(drawn, whole.peakFriction / drawn.peakFriction);
}

function lifted(curve: GripCurve, share: number): KnownTyre | null {
  const tyre = knownTyre(curve);
  return tyre === null ? null : times(tyre, 1 + share);
}

/** The tyre with its peak raised by this many half widths; for curves that were not resampled. */
function doubted(tyre: KnownTyre | null, { peakFriction }: GripCurve, halfWidths: number): KnownTyre | null {
  if (tyre === null || peakFriction === null) return tyre;
  return times(tyre, 1 + (halfWidths * peakFriction.plusMinus95) / peakFriction.value);
}
