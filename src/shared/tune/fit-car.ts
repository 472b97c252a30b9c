/**
 * The car that the runs and the gentle driving show, the set-up's values as what is known beforehand. Nothing missing stops it: what the
 * data say nothing of stays as entered, or usual, with a wide interval and the reason.
 */
import type { CarSetUp } from "../setup/set-up.ts";
import type { FittedCar, KnownCarFigure, TorqueCheck } from "./fitted-car.ts";
import { type Beforehand, type FittedNumber, fitForces } from "./fit-forces.ts";
import { type ForceBlocks, launchBlocks } from "./force-blocks.ts";
import { fullTorqueOf } from "./full-torque.ts";
import { loadModelOf, type SetUpTolerance, USUAL_TOLERANCE } from "./load-model.ts";
import type { TuneRun } from "./tune-run.ts";

export interface FitCarOptions {
  /** Units of gentle driving (gentleBlocks); none: what it would tell stays with the launches. */
  readonly gentle?: readonly ForceBlocks[];
  readonly tolerance?: SetUpTolerance;
}

const TWO_SIDED_95 = 1.959964;
/** Gear loss and an inverter's own estimate: torque is worth 0.97 of what it says, give or take. Common practice, no source. */
const TORQUE_WORTH: Beforehand = [0.98, 0.05];
const ROLLING: Beforehand = [0.012, 0.003];
const USUAL_DRAG: Beforehand = [0.65, 0.12];
const USUAL_INERTIA: Beforehand = [6, 2.5];
/** Entered values: one standard deviation, relative. */
const ENTERED_DRAG = 0.1;
const ENTERED_INERTIA = 0.15;
/** What no scatter between units shows: torque's lateness, wind, the slope that all units share. Seen on two generators (test/claims). */
const LEAST_INERTIA_SHARE = 0.03;
const LEAST_DRAG_SHARE = 0.012;
const LEAST_WORTH_SHARE = 0.0012;
/** The data had a say where they took this much off what was open beforehand. */
const HAD_A_SAY = 0.9;

/** The car of `runs`, which share one; throws RangeError for none. */
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
  const inertia = atLeast(fit.axleInertiaKgM2, LEAST_INERTIA_SHARE);
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
    rollingResistance: figure(fit.rollingResistance, 0, false),
    axleInertiaKgM2: figure(inertia, tolerance.mass, car.wheelInertiaKgM2 !== undefined),
    ...fullTorqueOf(runs),
    newtonPerNm: figure(scaled(worth, car.gearRatio / radiusM), tolerance.mass, false),
    load,
    torqueCheck: launches.length === 0 ? null : torqueCheckOf(worth),
    notes: notesOf(runs, car, launches.length, gentle.length, load.why),
  };
}

const atLeast = (number: FittedNumber, share: number): FittedNumber => ({
  ...number,
  sigma: Math.hypot(number.sigma, share * number.value),
});
const scaled = ({ value, sigma, before }: FittedNumber, by: number): FittedNumber => ({
  value: value * by,
  sigma: sigma * by,
  before: [before[0] * by, before[1] * by],
});

/** Forces are measured as accelerations times the entered mass: what it is off by, they are off by. */
function carFigure({ value, sigma, before }: FittedNumber, byMass: number, entered: boolean, noData: string | undefined): KnownCarFigure {
  // A mass that is off is off all day: a bound, it does not scatter.
  const halfWidth = (at: number, spread: number) => TWO_SIDED_95 * spread + byMass * at;
  if (noData === undefined && sigma < HAD_A_SAY * before[1]) return { value, plusMinus95: halfWidth(value, sigma), from: "fitted" };
  const instead = entered ? "the set-up's value" : "a usual value, as the set-up has none";
  const why = `${noData ?? "The driving says too little of it"}: ${instead}`;
  return { value: before[0], plusMinus95: halfWidth(before[0], before[1]), from: "set-up", why };
}

function torqueCheckOf(torqueWorth: FittedNumber): TorqueCheck {
  const value = 1 / torqueWorth.value;
  const plusMinus95 = (TWO_SIDED_95 * torqueWorth.sigma) / torqueWorth.value ** 2;
  const disagree = Math.abs(value - 1) > plusMinus95;
  const percent = Math.abs(100 * (value - 1)).toFixed(1);
  const doubt = (100 * plusMinus95).toFixed(1);
  const words = disagree
    ? `Torque says ${percent} % ${value > 1 ? "more" : "less"} force than the car's motion (± ${doubt} %): mass, gear efficiency or the inverter's estimate`
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
