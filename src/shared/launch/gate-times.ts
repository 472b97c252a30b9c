/**
 * Times gates on a fitted launch, each with its 95 % half width from the fit's covariance (start and crossing together, with their
 * correlation). A gate that was not reached has null seconds and says why.
 */
import { TWO_SIDED_95 } from "../kernel/statistics.ts";
import { KMH_PER_MPS, M_PER_FOOT, MPS_PER_KMH } from "../kernel/units.ts";
import type { LaunchFit } from "./launch-fit.ts";
import { type Gate, gateEnds } from "./gate.ts";
import { at } from "./launch-curve.ts";
import { GRID_S } from "./launch-model.ts";
import type { GateResult, StartName } from "./gate-result.ts";

/** A crossing: base time, grid position, distance, and how it changes with each independent direction of the fit's uncertainty. */
export interface Crossing {
  readonly atS: number;
  readonly x: number;
  readonly distanceM: number;
  readonly shifts: Float64Array;
}

export const MOVEMENT_MPS = 0.5 * MPS_PER_KMH;
// The error of straight lines on the grid and of whole-microsecond clocks is about this large, s.
const TIME_FLOOR_S = 0.0002;

/** Integrals of the fit's speed modes: how distance changes with each independent direction. */
function distanceModes(fit: LaunchFit): readonly Float64Array[] {
  return fit.speedModes.map((mode) => {
    const sum = new Float64Array(mode.length);
    for (let i = 1; i < mode.length; i++) sum[i] = sum[i - 1] + ((mode[i] + mode[i - 1]) / 2) * GRID_S;
    return sum;
  });
}

/** Where a speed is first reached at or after grid position `from`; null when the fit never reaches it. */
export function speedCrossing(fit: LaunchFit, levelMps: number, from: number): Crossing | null {
  for (let i = Math.max(1, Math.floor(from) + 1); i < fit.speed.length; i++) {
    if (fit.speed[i] >= levelMps && fit.speed[i - 1] < levelMps) return crossingAt(fit, i, levelMps);
  }
  return null;
}

/** Last rise through 0.5 km/h before the speed first reaches 10 km/h; null when that never happens. */
export function movementCrossing(fit: LaunchFit): Crossing | null {
  let i = fit.speed.findIndex((v) => v >= 10 * MPS_PER_KMH);
  if (i < 1) return null;
  while (i > 0 && fit.speed[i - 1] >= MOVEMENT_MPS) i--;
  return i > 0 ? crossingAt(fit, i, MOVEMENT_MPS) : null;
}

function crossingAt(fit: LaunchFit, i: number, levelMps: number): Crossing {
  const x = i - 1 + (levelMps - fit.speed[i - 1]) / (fit.speed[i] - fit.speed[i - 1]);
  // A crossing needs a slope. At a nearly constant top speed this least slope keeps the interval wide but finite.
  const slope = Math.max(at(fit.acceleration, x), 0.02);
  return {
    atS: fit.grid.fromS + x * GRID_S,
    x,
    distanceM: placeAt(fit, x),
    shifts: Float64Array.from(fit.speedModes, (mode) => -at(mode, x) / slope),
  };
}

function placeAt(fit: LaunchFit, x: number): number {
  const i = Math.min(fit.speed.length - 2, Math.floor(x));
  const v = at(fit.speed, x);
  return fit.distance[i] + ((fit.speed[i] + v) / 2) * (x - i) * GRID_S;
}

/** The instant the car is `metres` beyond its place at `start`; null when the fit ends before. */
function distanceCrossing(fit: LaunchFit, modes: readonly Float64Array[], start: Crossing, metres: number): Crossing | null {
  const target = start.distanceM + metres;
  const i = fit.distance.findIndex((x) => x >= target);
  if (i < 1) return null;
  let low = i - 1;
  let high = i;
  for (let k = 0; k < 50; k++) {
    const middle = (low + high) / 2;
    if (placeAt(fit, middle) < target) low = middle;
    else high = middle;
  }
  const v = Math.max(at(fit.speed, low), 0.05);
  const vStart = at(fit.speed, start.x);
  const shifts = Float64Array.from(modes, (mode, m) => (vStart * start.shifts[m] + at(mode, start.x) - at(mode, low)) / v);
  return { atS: fit.grid.fromS + low * GRID_S, x: low, distanceM: target, shifts };
}

/** 95 % half width of the time from one crossing to another. */
export function halfWidthBetween(from: Crossing, to: Crossing): number {
  let sum = TIME_FLOOR_S ** 2;
  for (let m = 0; m < to.shifts.length; m++) sum += (to.shifts[m] - from.shifts[m]) ** 2;
  return TWO_SIDED_95 * Math.sqrt(sum);
}

/** 95 % half width of a crossing's own instant. */
export function halfWidthOf(crossing: Crossing): number {
  return TWO_SIDED_95 * Math.sqrt(crossing.shifts.reduce((sum, shift) => sum + shift * shift, TIME_FLOOR_S ** 2));
}

/** Every standing, rolling and distance gate from each of its starts, in the order of `gates`. */
export function timeGates(fit: LaunchFit, gates: readonly Gate[], whyShort: string): GateResult[] {
  const modes = distanceModes(fit);
  const movement = movementCrossing(fit);
  const rollout = movement ? distanceCrossing(fit, modes, movement, M_PER_FOOT) : null;
  const results: GateResult[] = [];
  const push = (gate: Gate, start: StartName, from: Crossing | null, to: Crossing | null) => {
    if (!from)
      results.push({ gate: gate.name, start, seconds: null, plusMinus95: null, atS: null, why: `The start was not found: ${whyShort}` });
    else if (!to)
      results.push({ gate: gate.name, start, seconds: null, plusMinus95: null, atS: null, why: notReached(gate, fit, from, whyShort) });
    else {
      const exit = gateEnds(gate).to.what === "distance" ? { exitSpeedKmh: at(fit.speed, to.x) * KMH_PER_MPS } : {};
      results.push({ gate: gate.name, start, seconds: to.atS - from.atS, plusMinus95: halfWidthBetween(from, to), atS: to.atS, ...exit });
    }
  };
  for (const gate of gates) {
    const { starts, fromMps, to } = gateEnds(gate);
    // Braking to rest is timed on reversed time, in stop-gates.
    if (to.what === "standing") continue;
    for (const start of starts) {
      const entry = movement && fromMps !== null ? speedCrossing(fit, fromMps, movement.x) : null;
      const from = { movement, "1 ft": rollout, entry }[start];
      const speedFrom = start === "1 ft" ? movement : from;
      if (to.what === "speed") push(gate, start, from, speedFrom ? speedCrossing(fit, to.mps, speedFrom.x) : null);
      else push(gate, start, from, from ? distanceCrossing(fit, modes, from, to.m) : null);
    }
  }
  return results;
}

function notReached(gate: Gate, fit: LaunchFit, from: Crossing, whyShort: string): string {
  if (gateEnds(gate).to.what === "distance") {
    return `Not reached: ${(fit.distance[fit.distance.length - 1] - from.distanceM).toFixed(0)} m driven before the run ended (${whyShort})`;
  }
  const top = fit.speed.reduce((a, b) => Math.max(a, b), 0);
  return `Not reached: top speed ${(top * KMH_PER_MPS).toFixed(1)} km/h before the run ended (${whyShort})`;
}
