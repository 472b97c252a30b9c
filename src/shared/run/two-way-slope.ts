/**
 * The slope of a strip from runs in both directions. Two measures: half the difference of altitude gained per metre, and half the
 * difference of acceleration at the same torque. In the second, drag, mass and radius cancel, but a steady wind does not. Null without runs
 * in both directions.
 */
import { TWO_SIDED_95 } from "../kernel/statistics.ts";
import { STANDARD_GRAVITY_MPS2 } from "../kernel/units.ts";
import type { SlopeSigns } from "./run.ts";

export interface SlopedRun {
  readonly label: string;
  /** Whether the run went along the strip or against it. */
  readonly alongStrip: boolean;
  readonly altitudeChangeM: number | null;
  readonly signs: SlopeSigns;
}

export interface Grade {
  /** Slope along the strip: rise per distance. */
  readonly value: number;
  readonly plusMinus95: number;
}

export interface TwoWaySlope {
  readonly altitude: Grade | null;
  readonly torque: Grade | null;
  /** Both measures combined. */
  readonly grade: Grade;
}

/**
 * Prior scatter of single runs, weighted as if measured in four runs: a receiver's altitude drifts by about 1 m within a run (from memory),
 * acceleration at the same torque repeats to about 0.05 m/s2 (common practice, no source).
 */
const PRIOR_RUNS = 4;
const ALTITUDE_SIGMA_M = 1;
const SURPLUS_SIGMA_MPS2 = 0.05;
/** 2 m/s of wind along the strip at 17 m/s and 0.65 m2 of drag area: 2 rho A v w / 2 over 1,500 kg, as a slope. */
const WIND_SIGMA_GRADE = 0.0018;
/** Shorter runs are too short for altitude per metre. */
const LEAST_LENGTH_M = 50;

interface Reading {
  readonly cell: string;
  readonly along: boolean;
  readonly value: number;
}

/** 97.5 % point of Student's t by the first terms of the Cornish-Fisher series (Abramowitz and Stegun 26.7.5). */
function studentT(n: number): number {
  const z = TWO_SIDED_95;
  return z + (z ** 3 + z) / (4 * n) + (5 * z ** 5 + 16 * z ** 3 + 3 * z) / (96 * n ** 2);
}

/**
 * Half the difference between the two directions. Calculated cell by cell, since the runs of one label are driven in the same way; cells
 * are weighted by their precision.
 */
function halfDifference(readings: readonly Reading[], priorSigma: number): Grade | null {
  let squares = PRIOR_RUNS * priorSigma ** 2;
  let freedom = PRIOR_RUNS;
  const halves: { value: number; share: number }[] = [];
  for (const cell of new Set(readings.map((one) => one.cell))) {
    const sides = [true, false].map((along) => readings.filter((one) => one.cell === cell && one.along === along).map((one) => one.value));
    const means = sides.map((values) => values.reduce((sum, one) => sum + one, 0) / values.length);
    for (const [side, values] of sides.entries()) {
      for (const one of values) squares += (one - means[side]) ** 2;
      freedom += Math.max(0, values.length - 1);
    }
    const [there, back] = sides as [number[], number[]];
    if (there.length === 0 || back.length === 0) continue;
    const [up, down] = means as [number, number];
    halves.push({ value: (up - down) / 2, share: (1 / there.length + 1 / back.length) / 4 });
  }
  if (halves.length === 0) return null;
  const weight = halves.reduce((sum, one) => sum + 1 / one.share, 0);
  const value = halves.reduce((sum, one) => sum + one.value / one.share, 0) / weight;
  return { value, plusMinus95: studentT(freedom) * Math.sqrt(squares / freedom / weight) };
}

/** `runs`: all runs of one strip. */
export function twoWaySlope(runs: readonly SlopedRun[]): TwoWaySlope | null {
  const long = runs.flatMap(({ alongStrip, altitudeChangeM, signs: { lengthM } }) =>
    altitudeChangeM === null || lengthM === null || lengthM < LEAST_LENGTH_M ? [] : [{ alongStrip, altitudeChangeM, lengthM }],
  );
  const usualM = long.reduce((sum, { lengthM }) => sum + lengthM, 0) / long.length;
  const altitude = halfDifference(
    // Altitude does not depend on the label: one cell.
    long.map(({ alongStrip, altitudeChangeM, lengthM }) => ({ cell: "", along: alongStrip, value: altitudeChangeM / lengthM })),
    ALTITUDE_SIGMA_M / usualM,
  );
  const torque = halfDifference(
    runs.flatMap(({ label, alongStrip, signs: { surplusMps2 } }) =>
      // Uphill the car accelerates less.
      surplusMps2 === null ? [] : [{ cell: label, along: alongStrip, value: -surplusMps2 / STANDARD_GRAVITY_MPS2 }],
    ),
    SURPLUS_SIGMA_MPS2 / STANDARD_GRAVITY_MPS2,
  );
  const known = [
    ...(altitude === null ? [] : [altitude]),
    ...(torque === null ? [] : [{ value: torque.value, plusMinus95: Math.hypot(torque.plusMinus95, TWO_SIDED_95 * WIND_SIGMA_GRADE) }]),
  ];
  if (known.length === 0) return null;
  const weight = known.reduce((sum, one) => sum + one.plusMinus95 ** -2, 0);
  const value = known.reduce((sum, one) => sum + one.value * one.plusMinus95 ** -2, 0) / weight;
  return { altitude, torque, grade: { value, plusMinus95: weight ** -0.5 } };
}
