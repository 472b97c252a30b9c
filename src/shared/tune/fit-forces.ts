/**
 * Fits drag, rolling resistance, axle inertia and the real share of delivered torque to blocks of driving. Linear least squares with
 * priors; each unit has its own small slope of the road; outliers get less weight. The covariance comes from the scatter between units,
 * since samples of one unit are not independent.
 */
import { AIR_KGPM3 } from "../align/force-balance.ts";
import { choleskyOf, solveCholesky } from "../kernel/cholesky.ts";
import { median } from "../kernel/statistics.ts";
import { STANDARD_GRAVITY_MPS2 } from "../kernel/units.ts";
import type { ForceBlocks } from "./force-blocks.ts";

/** Mean and standard deviation. */
export type Beforehand = readonly [number, number];

export interface ForceKnowledge {
  /** Force that moves the car over force from reported torque: includes gear loss and the inverter's error. */
  readonly torqueWorth: Beforehand;
  readonly axleInertiaKgM2: Beforehand;
  readonly dragAreaM2: Beforehand;
  readonly rollingResistance: Beforehand;
}

export interface ForceFit {
  readonly torqueWorth: FittedNumber;
  readonly axleInertiaKgM2: FittedNumber;
  readonly dragAreaM2: FittedNumber;
  readonly rollingResistance: FittedNumber;
}

export interface FittedNumber {
  readonly value: number;
  readonly sigma: number;
  /** The prior. */
  readonly before: Beforehand;
}

const COUNT = 4;
/** Slope of a test road from unit to unit, m/s2: a quarter of a per cent. */
const SLOPE_SIGMA_MPS2 = 0.025;
/** So many units more count with this: a level road soon shows that it is one. */
const SLOPE_COUNTS_AS = 4;
/** Blocks of one unit are correlated: this many count as one. */
const BLOCKS_TOGETHER = 5;
const LEAST_NOISE_MPS2 = 0.005;
const ROUNDS = 4;
const HUBER = 2;

interface Normal {
  readonly matrix: Float64Array;
  readonly right: Float64Array;
}

/** Fits `units`; empty ones are ignored. Without any block the answer is the prior. */
export function fitForces(
  units: readonly ForceBlocks[],
  car: { readonly massKg: number; readonly gearRatio: number; readonly radiusM: number },
  before: ForceKnowledge,
): ForceFit {
  const known = [before.torqueWorth, before.axleInertiaKgM2, before.dragAreaM2, before.rollingResistance];
  // In units of their priors, all four are of the order of one.
  const scale = known.map(([, sigma]) => sigma);
  const rows = units.map((blocks) => columnsOf(blocks, car, scale));
  let theta: Float64Array = Float64Array.from(known, ([mean], j) => mean / scale[j]);
  let noise = 0.05;
  let slopeSigma = SLOPE_SIGMA_MPS2;
  let solved: { theta: Float64Array; covariance: Float64Array } = { theta, covariance: identity() };
  for (let round = 0; round < ROUNDS; round += 1) {
    const normals = rows.map((unit) => normalOf(unit, theta, noise, slopeSigma));
    solved = solveUnits(normals, known, scale);
    theta = solved.theta;
    noise = noiseOf(rows, theta);
    slopeSigma = slopeSigmaOf(rows, theta);
  }
  const number = (j: number): FittedNumber => ({
    value: solved.theta[j] * scale[j],
    sigma: Math.sqrt(solved.covariance[j * COUNT + j]) * scale[j],
    before: known[j],
  });
  return { torqueWorth: number(0), axleInertiaKgM2: number(1), dragAreaM2: number(2), rollingResistance: number(3) };
}

const identity = () => Float64Array.from({ length: COUNT * COUNT }, (_, i) => (i % (COUNT + 1) === 0 ? 1 : 0));

/** a = worth x T G / (R m) - J w' / (R m) - A rho v2 / (2 m) - f g, each column times its scale. */
function columnsOf(
  { accelerationMps2, torqueNm, spinRadps2, speedMps }: ForceBlocks,
  { massKg, gearRatio, radiusM }: { massKg: number; gearRatio: number; radiusM: number },
  scale: readonly number[],
): { y: Float64Array; x: readonly Float64Array[] } {
  return {
    y: accelerationMps2,
    x: [
      torqueNm.map((torque) => (scale[0] * torque * gearRatio) / radiusM / massKg),
      spinRadps2.map((spin) => (-scale[1] * spin) / radiusM / massKg),
      speedMps.map((v) => (-scale[2] * 0.5 * AIR_KGPM3 * v * v) / massKg),
      speedMps.map(() => -scale[3] * STANDARD_GRAVITY_MPS2),
    ],
  };
}

type Unit = ReturnType<typeof columnsOf>;

const residualAt = ({ y, x }: Unit, theta: Float64Array, i: number) => y[i] - x.reduce((sum, column, j) => sum + theta[j] * column[i], 0);

/** Normal equations of one unit with its own slope eliminated. */
function normalOf(unit: Unit, theta: Float64Array, noise: number, slopeSigma: number): Normal {
  const { y, x } = unit;
  const matrix = new Float64Array(COUNT * COUNT);
  const right = new Float64Array(COUNT);
  const ones = new Float64Array(COUNT);
  let [weights, onesY] = [slopeSigma ** -2, 0];
  // The present slope, so that a unit on a hill is not an outlier as a whole.
  const middle = slopeOf(unit, theta);
  for (let i = 0; i < y.length; i += 1) {
    const off = Math.abs(residualAt(unit, theta, i) - middle) / noise / HUBER;
    const w = 1 / (noise * noise * BLOCKS_TOGETHER) / Math.max(1, off);
    weights += w;
    onesY += w * y[i];
    for (let j = 0; j < COUNT; j += 1) {
      right[j] += w * x[j][i] * y[i];
      ones[j] += w * x[j][i];
      for (let k = 0; k < COUNT; k += 1) matrix[j * COUNT + k] += w * x[j][i] * x[k][i];
    }
  }
  for (let j = 0; j < COUNT; j += 1) {
    right[j] -= (ones[j] * onesY) / weights;
    for (let k = 0; k < COUNT; k += 1) matrix[j * COUNT + k] -= (ones[j] * ones[k]) / weights;
  }
  return { matrix, right };
}

function solveUnits(
  normals: readonly Normal[],
  known: readonly Beforehand[],
  scale: readonly number[],
): { theta: Float64Array; covariance: Float64Array } {
  const matrix = identity();
  const right = Float64Array.from(known, ([mean], j) => mean / scale[j]);
  for (const normal of normals) {
    normal.matrix.forEach((value, i) => {
      matrix[i] += value;
    });
    normal.right.forEach((value, i) => {
      right[i] += value;
    });
  }
  const lower = choleskyOf(matrix, COUNT);
  if (lower === null) throw new RangeError("Expected blocks of finite numbers for the car's forces");
  const theta = Float64Array.from(solveCholesky(lower, COUNT, right));
  const inverse = [0, 1, 2, 3].map((j) =>
    solveCholesky(
      lower,
      COUNT,
      Float64Array.from({ length: COUNT }, (_, k) => (k === j ? 1 : 0)),
    ),
  );
  // How far each unit pulls the answer. Where there are enough units, the scatter of these is the data's part of the covariance.
  const used = normals.filter(({ matrix: m }) => m.some((value) => value !== 0));
  const pulls = used.map(({ matrix: m, right: b }) =>
    b.map((value, j) => value - theta.reduce((sum, t, k) => sum + m[j * COUNT + k] * t, 0)),
  );
  const extra = used.length > 1 ? used.length / (used.length - 1) : 1;
  const covariance = new Float64Array(COUNT * COUNT);
  for (let j = 0; j < COUNT; j += 1) {
    const byPulls = pulls.reduce((sum, pull) => sum + inverse[j].reduce((s, value, k) => s + value * pull[k], 0) ** 2, 0);
    const byPrior = inverse[j].reduce((sum, value) => sum + value * value, 0);
    covariance[j * COUNT + j] = Math.max(inverse[j][j], byPulls * extra + byPrior);
  }
  return { theta, covariance };
}

/** The unit's own slope, m/s2; 0 for a unit without blocks. */
const slopeOf = (unit: Unit, theta: Float64Array) =>
  unit.y.length === 0 ? 0 : median(Float64Array.from(unit.y, (_, i) => residualAt(unit, theta, i)));

/** How much the road slopes from unit to unit: what is usual, and what the units show. */
function slopeSigmaOf(rows: readonly Unit[], theta: Float64Array): number {
  const slopes = rows.filter(({ y }) => y.length > 0).map((unit) => slopeOf(unit, theta));
  const squares = slopes.reduce((sum, slope) => sum + slope * slope, SLOPE_COUNTS_AS * SLOPE_SIGMA_MPS2 ** 2);
  return Math.sqrt(squares / (SLOPE_COUNTS_AS + slopes.length));
}

function noiseOf(rows: readonly Unit[], theta: Float64Array): number {
  const all = rows.flatMap((unit) => {
    const residuals = Float64Array.from(unit.y, (_, i) => residualAt(unit, theta, i));
    const middle = median(residuals);
    return Array.from(residuals, (value) => Math.abs(value - middle));
  });
  return all.length === 0 ? 0.05 : Math.max(LEAST_NOISE_MPS2, 1.4826 * median(Float64Array.from(all)));
}
