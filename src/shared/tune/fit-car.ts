/**
 * Fits the car to its runs and to gentle driving, with the set-up's values as priors. Missing data stop nothing: a figure about which they
 * say nothing stays as entered, or usual, with a wide interval and the reason.
 */
import { TWO_SIDED_95 } from "../kernel/statistics.ts";
import type { CarSetUp } from "../setup/set-up.ts";
import type { FittedCar, KnownCarFigure, TorqueCheck } from "./fitted-car.ts";
import { type Beforehand, type FittedNumber, fitForces } from "./fit-forces.ts";
import { type ForceBlocks, launchBlocks } from "./force-blocks.ts";
import { fullTorqueOf } from "./full-torque.ts";
import { loadModelOf, type SetUpTolerance, USUAL_TOLERANCE } from "./load-model.ts";
import { wentOneWay } from "./one-way.ts";
import type { TuneRun } from "./tune-run.ts";

export interface FitCarOptions {
  /** Units of gentle driving (gentleBlocks). Without any, the launches alone determine the figures. */
  readonly gentle?: readonly ForceBlocks[];
  readonly tolerance?: SetUpTolerance;
}

/** Gear loss and an inverter's own estimate: real torque is about 0.97 of the reported one. Common practice, no source. */
const TORQUE_WORTH: Beforehand = [0.98, 0.05];
const ROLLING: Beforehand = [0.012, 0.003];
const USUAL_DRAG: Beforehand = [0.65, 0.12];
const USUAL_INERTIA: Beforehand = [6, 2.5];
/** Standard deviations of entered values, relative. */
const ENTERED_DRAG = 0.1;
const ENTERED_INERTIA = 0.15;
/** What no scatter between units shows: wind, a slope that all units share, a late bus. Seen on two generators (test/claims). */
const LEAST_INERTIA_SHARE = 0.005;
const LEAST_DRAG_SHARE = 0.006;
const LEAST_ROLLING_SHARE = 0.06;
const LEAST_WORTH_SHARE = 0.0012;
/** A launch's acceleration was itself fitted with an inertia that was known before: what it says of inertia is less sure by this. */
const INERTIA_TIMES = 1.8;
/** The data count as a contribution where they reduce the prior uncertainty to this share. */
const HAD_A_SAY = 0.9;

/** The car of `runs`, which all have the same one; throws RangeError without runs. */
export function fitCar(runs: readonly TuneRun[], { gentle = [], tolerance = USUAL_TOLERANCE }: FitCarOptions = {}): FittedCar {
  const newest = runs.at(-1);
  if (newest === undefined) throw new RangeError("Expected at least one run to fit a car to");
  const { car } = newest;
  const radius = newest.calibration?.rollingRadiusM;
  const radiusM = radius?.value ?? car.rollingRadiusM ?? Number.NaN;
  const launches = runs.map(launchBlocks).filter((blocks): blocks is ForceBlocks => blocks !== null && blocks.speedMps.length > 0);
  const units = [...launches, ...gentle];
  const dragBefore: Beforehand = car.dragAreaM2 === undefined ? USUAL_DRAG : [car.dragAreaM2, ENTERED_DRAG * car.dragAreaM2];
  const inertiaBefore: Beforehand =
    car.wheelInertiaKgM2 === undefined ? USUAL_INERTIA : [car.wheelInertiaKgM2, ENTERED_INERTIA * car.wheelInertiaKgM2];
  const fit = fitForces(
    Number.isFinite(radiusM) ? units : [],
    { massKg: car.massKg, gearRatio: car.gearRatio, radiusM },
    { torqueWorth: TORQUE_WORTH, axleInertiaKgM2: inertiaBefore, dragAreaM2: dragBefore, rollingResistance: ROLLING },
  );
  const noData = units.length === 0 ? "No run has delivered torque and motor speed" : undefined;
  const inertia = atLeast(lessSure(fit.axleInertiaKgM2, INERTIA_TIMES), LEAST_INERTIA_SHARE);
  const worth = atLeast(fit.torqueWorth, LEAST_WORTH_SHARE);
  const figure = (number: FittedNumber, byMass: number, entered: boolean) => carFigure(number, byMass, entered, noData);
  const load = loadModelOf(car, tolerance);
  return {
    massKg: { value: car.massKg, plusMinus95: tolerance.mass * car.massKg, from: "set-up" },
    gearRatio: car.gearRatio,
    rollingRadiusM: {
      value: radiusM,
      plusMinus95: radius?.plusMinus95 ?? 0.02 * radiusM,
      from: radius?.from === "calibrated" ? "fitted" : "set-up",
    },
    dragAreaM2: figure(atLeast(fit.dragAreaM2, LEAST_DRAG_SHARE), tolerance.mass, car.dragAreaM2 !== undefined),
    rollingResistance: figure(atLeast(fit.rollingResistance, LEAST_ROLLING_SHARE), 0, false),
    axleInertiaKgM2: figure(inertia, tolerance.mass, car.wheelInertiaKgM2 !== undefined),
    ...fullTorqueOf(runs),
    newtonPerNm: figure(scaled(worth, car.gearRatio / radiusM), tolerance.mass, false),
    load,
    torqueCheck: launches.length === 0 ? null : torqueCheckOf(worth, runs),
    notes: notesOf(runs, car, launches.length, gentle.length, load.why),
  };
}

const atLeast = (number: FittedNumber, share: number): FittedNumber => ({
  ...number,
  sigma: Math.hypot(number.sigma, share * number.value),
});
const lessSure = (number: FittedNumber, times: number): FittedNumber => ({
  ...number,
  sigma: Math.min(number.before[1], times * number.sigma),
});
const scaled = ({ value, sigma, before }: FittedNumber, by: number): FittedNumber => ({
  value: value * by,
  sigma: sigma * by,
  before: [before[0] * by, before[1] * by],
});

/** Forces are measured as acceleration times the entered mass, so an error of the mass is an error of every force. */
function carFigure({ value, sigma, before }: FittedNumber, byMass: number, entered: boolean, noData: string | undefined): KnownCarFigure {
  // A wrong mass is wrong all day: it is a bound and does not scatter.
  const halfWidth = (at: number, spread: number) => TWO_SIDED_95 * spread + byMass * at;
  if (noData === undefined && sigma < HAD_A_SAY * before[1]) return { value, plusMinus95: halfWidth(value, sigma), from: "fitted" };
  const instead = entered ? "the set-up's value" : "a usual value, as the set-up has none";
  const why = `${noData ?? "The driving says too little of it"}: ${instead}`;
  return { value: before[0], plusMinus95: halfWidth(before[0], before[1]), from: "set-up", why };
}

/** A slope or a wind that all runs share looks like torque that is worth more or less than it says. */
function torqueCheckOf(torqueWorth: FittedNumber, runs: readonly TuneRun[]): TorqueCheck {
  const value = 1 / torqueWorth.value;
  const plusMinus95 = (TWO_SIDED_95 * torqueWorth.sigma) / torqueWorth.value ** 2;
  const disagree = Math.abs(value - 1) > plusMinus95;
  const percent = Math.abs(100 * (value - 1)).toFixed(1);
  const doubt = (100 * plusMinus95).toFixed(1);
  const causes = wentOneWay(runs)
    ? "mass, gear efficiency, the inverter's estimate, or, as all runs went one way, slope or wind: drive as many the other way"
    : "mass, gear efficiency or the inverter's estimate";
  const words = disagree
    ? `Torque says ${percent} % ${value > 1 ? "more" : "less"} force than the car's motion (± ${doubt} %): ${causes}`
    : `Torque and the car's motion tell the same force within ${doubt} %`;
  return { ratio: { value, plusMinus95 }, disagree, words };
}

function notesOf(runs: readonly TuneRun[], car: CarSetUp, launches: number, gentle: number, loadWhy: string | undefined): string[] {
  const notes: string[] = [];
  if (loadWhy !== undefined) notes.push(loadWhy);
  if (launches === 0)
    notes.push("No torque in any run: drag, rolling and inertia are as entered or usual, full torque and power are unknown");
  else if (gentle === 0) notes.push("No gentle driving at hand: drag and rolling come from the launches alone");
  if (runs.length === 1) notes.push("One run: scatter from run to run is unknown, intervals are those of usual runs");
  if (car.drivenAxle === "front") notes.push("Front axle driven: accelerating takes load off it");
  return notes;
}
