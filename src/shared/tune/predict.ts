/**
 * Tries a change on the fitted car: its launches in a closed-loop simulation, first with the control that the runs show, then with one
 * change. Always a simulation, never a measurement. What cannot be simulated gives null and says why.
 */

import { createSeededRandom } from "../judge/seeded-random.ts";
import { fixed } from "../judge/wording.ts";
import { TWO_SIDED_95 } from "../kernel/statistics.ts";
import { saidSpeed } from "../kernel/shown-units.ts";
import { type Gate, gateEnds } from "../launch/gate.ts";
import type { StartName } from "../launch/gate-result.ts";
import type { ControlModel } from "./control-model.ts";
import { drawnControl, drivenCar } from "./drawn-world.ts";
import { type DrivenCar, type DrivenLaunch, driveAgain } from "./drive-again.ts";
import type { Figure } from "./figure.ts";
import type { FittedCar } from "./fitted-car.ts";
import { gearChangedBelow } from "./gear-change.ts";
import type { GripCurve, GripFormula } from "./grip-curve.ts";
import type { GroupControl } from "./group-control.ts";
import { type LaunchHabit, launchHabit, MOVEMENT_ROW } from "./launch-habit.ts";
import { askedOtherwise, type Trial, tried, USUAL_CONTROL } from "./trial.ts";
import { gateOf, type TuneRun } from "./tune-run.ts";
import { ROW_S } from "./tune-samples.ts";

export interface PredictQuestion {
  /** Runs of one group on one surface. */
  readonly runs: readonly TuneRun[];
  readonly gate: Gate;
  readonly start: StartName;
  readonly car: FittedCar;
  readonly curves: readonly GripCurve[];
  /** The control of these runs. */
  readonly control: GroupControl;
  readonly trial: Trial;
}

export interface Prediction {
  /** Says that this is a simulation, of what, and with what change. */
  readonly words: string;
  /** Seconds with the change; null where unknown. */
  readonly seconds: Figure | null;
  /** Seconds gained by it; negative where it costs time. Null for another surface, where it would not be a gain. */
  readonly gainS: Figure | null;
  /** Mean of the runs as driven, and of the same launches in the simulation: the difference is the simulation's error. */
  readonly measuredS: number | null;
  readonly simulatedS: number | null;
  readonly why: string | null;
  /** Sentences that limit the result. */
  readonly notes: readonly string[];
  /** The launch with the change, for drawing; null where there is none. */
  readonly course: Pick<DrivenLaunch, "speedMps" | "slipMps" | "throughNm"> | null;
}

interface World {
  readonly car: DrivenCar;
  readonly grip: GripFormula;
  readonly control: ControlModel | null;
}

interface Scene {
  readonly question: PredictQuestion;
  readonly habit: LaunchHabit;
  readonly world: World;
  /** The curve of the road it was driven on, and of the road it is tried on. */
  readonly curve: GripCurve;
  readonly road: GripCurve;
}

const DRAWS = 40;
const SEED = 16;
/** The model is never exact: this share of a gain stays uncertain besides everything else (two-sided 95 %). */
const MODEL_SHARE = 0.15;
/** Beyond this many times the largest slip seen, the curve is guessed. */
const BEYOND_SHARE = 1.1;
const MISMATCH_SHARE = 0.08;

const percent = (share: number) => `${(100 * share).toFixed(1)} %`;
const inS = (seconds: number) => `${fixed(seconds)} s`;

function changedWords({ slip, lateS, everyS, strength, asksAllAfterS, surface }: Trial): string {
  const parts = [
    slip === undefined ? [] : [`slip held at ${percent(slip)}`],
    lateS === undefined ? [] : [`answering after ${(1000 * lateS).toFixed(0)} ms`],
    everyS === undefined ? [] : [`looking ${Math.round(1 / everyS)} times a second`],
    strength === undefined ? [] : [`cutting ${strength.toFixed(2)} times as strongly`],
    asksAllAfterS === undefined ? [] : [`all torque asked for after ${inS(asksAllAfterS)}`],
    surface === undefined ? [] : [`on ${surface}`],
  ].flat();
  return parts.length === 0 ? "nothing changed" : parts.join(", ");
}

/** Why the slip cannot be tried on this curve; null where it can. */
function outsideCurve({ curve, largestSlip, bestSlip }: GripCurve, slip: number | undefined): string | null {
  if (slip === undefined) return null;
  const [least, largest] = [curve[0]?.slip ?? 0, largestSlip ?? 0];
  if (bestSlip === null && slip > BEYOND_SHARE * largest)
    return `The runs show this tyre only up to ${percent(largest)} slip: what ${percent(slip)} would bring is unknown.`;
  if (slip < least / BEYOND_SHARE)
    return `The runs show this tyre only from ${percent(least)} slip on: what ${percent(slip)} would bring is unknown.`;
  return null;
}

function sceneOf(question: PredictQuestion): Scene | string {
  const { runs, car, curves, control, trial } = question;
  const surface = runs[0]?.surface ?? null;
  const curve = curves.find((one) => one.surface === surface);
  const road = trial.surface === undefined ? curve : curves.find((one) => one.surface === trial.surface);
  const driven = drivenCar(car, null);
  const habit = launchHabit(runs, car);
  if (runs.length === 0) return "The group has no run to drive again.";
  if (runs.some((run) => run.surface !== surface)) return "The group's runs are on unlike surfaces: name a group of one.";
  const top = gateEnds(question.gate).to;
  const shifted = runs.flatMap((run) => gearChangedBelow(run, top.what === "speed" ? top.mps : Number.POSITIVE_INFINITY) ?? []);
  if (shifted.length > 0)
    return `Another gear is in from ${saidSpeed(Math.min(...shifted))} on, and the car is driven again in one gear: name a gate that ends before.`;
  if (driven === null) return `Without full torque the car cannot be driven again: ${car.fullTorqueNm.why ?? "it is unknown"}.`;
  if (habit === null) return "Without torque asked for and motor speed no launch can be driven again.";
  if (curve === undefined || curve.formula === null)
    return `Without the tyre's grip the car cannot be driven again: ${curve?.why ?? "no run shows it"}.`;
  if (road === undefined || road.formula === null)
    return `No run of this book shows the tyre on ${trial.surface}: note the surface of runs (conditions surface=${trial.surface}).`;
  const outside = outsideCurve(road, trial.slip);
  if (outside !== null) return outside;
  const changesControl = [trial.slip, trial.lateS, trial.everyS, trial.strength].some((value) => value !== undefined);
  if (changesControl && control.fit === null && control.each.some(({ interventions }) => interventions.length > 0))
    return "The control of these runs does not follow from slip: it cannot be driven again with another setting.";
  return { question, habit, curve, road, world: { car: driven, grip: curve.formula, control: control.fit?.model ?? null } };
}

/** The control with the change; a car without one is given one of usual strength. */
function changedControl(control: ControlModel | null, { question: { control: seen, trial } }: Scene): ControlModel | null {
  const changes = [trial.slip, trial.lateS, trial.everyS, trial.strength].some((value) => value !== undefined);
  if (control !== null) return tried(control, seen, trial);
  return changes ? tried(USUAL_CONTROL, { holdsSlipAt: null, answersAfterS: null }, trial) : null;
}

function now({ habit, question }: Scene, { car, grip, control }: World): DrivenLaunch {
  return driveAgain({ ...habit, car, grip, control }, question.gate);
}

function then(scene: Scene, { car, control }: World, grip: GripFormula): DrivenLaunch {
  const { habit, question } = scene;
  const changed = changedControl(control, scene);
  const asked = control === null && changed !== null ? footStaysDown(habit.askedShare) : habit.askedShare;
  const askedShare = askedOtherwise(asked, MOVEMENT_ROW, ROW_S, question.trial.asksAllAfterS);
  return driveAgain({ ...habit, askedShare, car, grip, control: changed }, question.gate);
}

/**
 * A driver who eased the pedal when the wheels spun need not do so with a control: what was asked for once is then asked for to the end.
 */
function footStaysDown(share: Float64Array): Float64Array {
  let most = 0;
  return share.map((s) => {
    most = Math.max(most, s);
    return most;
  });
}

/** Variance of the seconds with the change and of the gain, over the cars and tyres that the runs allow. */
function spread(scene: Scene): { thenS: number; gainS: number } {
  const random = createSeededRandom(SEED);
  const { question, curve, road, world } = scene;
  const [thens, gains]: [number[], number[]] = [[], []];
  for (let k = 0; k < DRAWS; k += 1) {
    const drawn: World = {
      car: drivenCar(question.car, random) ?? world.car,
      grip: curve.resampled[k % Math.max(1, curve.resampled.length)] ?? world.grip,
      control: question.control.fit === null ? null : drawnControl(question.control.fit, random),
    };
    const other = road === curve ? drawn.grip : (road.resampled[k % Math.max(1, road.resampled.length)] ?? (road.formula as GripFormula));
    const [a, b] = [now(scene, drawn).seconds, then(scene, drawn, other).seconds];
    if (b !== null) thens.push(b);
    if (a !== null && b !== null) gains.push(a - b);
  }
  return { thenS: variance(thens), gainS: variance(gains) };
}

/**
 * Half of what a control that oscillates about its new slip loses against one that does not, s. No run showed how much it will oscillate
 * there, and shafts that twist damp it: half is subtracted, and the interval includes none and all of it.
 */
function swingS(scene: Scene, thenS: number): number {
  const { habit, question, road, world } = scene;
  const control = changedControl(world.control, scene);
  if (question.trial.slip === undefined || world.control === null || control === null) return 0;
  const calm = driveAgain(
    { ...habit, car: world.car, grip: road.formula as GripFormula, control: { ...USUAL_CONTROL, aim: control.aim, lateS: 0, everyS: 0 } },
    question.gate,
  );
  return calm.seconds === null ? 0 : Math.max(0, thenS - calm.seconds) / 2;
}

function variance(values: readonly number[]): number {
  if (values.length < 2) return 0;
  const mean = values.reduce((sum, v) => sum + v, 0) / values.length;
  return values.reduce((sum, v) => sum + (v - mean) ** 2, 0) / (values.length - 1);
}

function nothing(question: PredictQuestion, measuredS: number | null, why: string): Prediction {
  const words = `A simulation of the fitted car (${changedWords(question.trial)}) cannot be made.`;
  return { words, seconds: null, gainS: null, measuredS, simulatedS: null, why, notes: [], course: null };
}

function notesOf({ question, road, world }: Scene, measuredS: number | null, simulatedS: number): string[] {
  const notes: string[] = [];
  if (road.bestSlip === null && road.why !== null) notes.push(`${road.why}.`);
  if (world.control === null)
    notes.push("These runs show no control: one of usual strength is driven (common practice, no source), with the foot staying down.");
  if (measuredS !== null && Math.abs(simulatedS - measuredS) > MISMATCH_SHARE * measuredS)
    notes.push(
      `Driven again as it was it takes ${inS(simulatedS)}, measured were ${inS(measuredS)}: half of the difference is in the interval.`,
    );
  if (question.control.seenEveryS?.atBus === true && question.trial.everyS !== undefined)
    notes.push("How often the control looks now is hidden by the bus: its lateness holds half of that already.");
  return notes;
}

/** The launch with the change, simulated once, without an interval; null where it cannot be. */
export function predictOnce(question: PredictQuestion): DrivenLaunch | null {
  const scene = sceneOf(question);
  return typeof scene === "string" ? null : then(scene, scene.world, scene.road.formula as GripFormula);
}

/** Seconds that a change is expected to gain, by a simulation; null where it cannot be simulated or would be on another road. */
export function expectedGain(question: PredictQuestion): Figure | null {
  return Object.keys(question.trial).length === 0 ? null : predict(question).gainS;
}

/** Tries the change. Never throws. */
export function predict(question: PredictQuestion): Prediction {
  const { runs, gate, start, trial } = question;
  const times = runs.flatMap((run) => gateOf(run, gate.name, start)?.seconds ?? []);
  const measuredS = times.length === 0 ? null : times.reduce((sum, s) => sum + s, 0) / times.length;
  const scene = sceneOf(question);
  if (typeof scene === "string") return nothing(question, measuredS, scene);
  const before = now(scene, scene.world);
  const after = then(scene, scene.world, scene.road.formula as GripFormula);
  if (before.seconds === null || after.seconds === null)
    return nothing(question, measuredS, `The simulated car never gets to the end of ${gate.name}.`);
  const varied = spread(scene);
  // The simulation's present error is assumed to be half as large with the change; no more is known about it.
  const off = measuredS === null || scene.road !== scene.curve ? 0 : (measuredS - before.seconds) / 2;
  const swing = swingS(scene, after.seconds);
  const gain = before.seconds - after.seconds + off + swing;
  const open = Math.hypot(TWO_SIDED_95 * Math.sqrt(varied.gainS), MODEL_SHARE * gain, off, swing);
  const sameRoad = scene.road === scene.curve;
  return {
    words: `A simulation of the fitted car, no measurement: ${changedWords(trial)}.`,
    seconds: {
      value: sameRoad && measuredS !== null ? measuredS - gain : after.seconds,
      plusMinus95: sameRoad ? open : Math.hypot(TWO_SIDED_95 * Math.sqrt(varied.thenS), MODEL_SHARE * after.seconds),
    },
    gainS: sameRoad ? { value: gain, plusMinus95: open } : null,
    measuredS,
    simulatedS: before.seconds,
    why: null,
    notes: notesOf(scene, measuredS, before.seconds),
    course: after,
  };
}
