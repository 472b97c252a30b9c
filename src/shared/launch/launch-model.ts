/**
 * Forward model of one launch on a 10 ms grid: the car stands until a start, then is driven by the delivered torque. Where torque is
 * unknown, a smooth family is used (ramp, limited acceleration, power limit, drag). Pure; an unknown input uses a fallback, never 0.
 */
import type { CarSetUp } from "../setup/set-up.ts";
import { STANDARD_GRAVITY_MPS2 } from "../kernel/units.ts";

export const GRID_S = 0.01;

export interface LaunchGrid {
  readonly fromS: number;
  readonly count: number;
}

/** A parameter with its Gaussian prior and its step for finite differences. */
interface Parameter {
  readonly name: string;
  readonly mean: number;
  readonly sigma: number;
  readonly difference: number;
  /** Values it may take. The model limits them itself, but nothing would lead a fit back that stepped beyond. */
  readonly within?: readonly [number, number];
}

export interface LaunchModel {
  readonly kind: "torque" | "family";
  readonly grid: LaunchGrid;
  readonly parameters: readonly Parameter[];
  /**
   * Writes at every grid point the speed (m/s, unclipped: below 0 means standing), its slope where that is wanted, and the net push (m/s2) on
   * a standing car. Returns the grid index of the anchor: disturbances are integrated from there.
   */
  readonly drive: (theta: ArrayLike<number>, speed: Float64Array, slope: Float64Array | null, push: Float64Array) => number;
}

export interface TorqueInputs {
  /** Motor torque (Nm) at grid points, and driven-wheel spin (rad/s; null where motor speed is unknown). */
  readonly torqueNm: Float64Array;
  readonly wheelRadps: Float64Array | null;
  readonly massKg: number;
  readonly gearRatio: number;
  readonly radiusM: number;
  readonly wheelInertiaKgM2: number | null;
  readonly dragAreaM2: number | null;
  /** Spans of grid points without torque data: any force may have acted there. */
  readonly unheard: readonly { readonly from: number; readonly to: number }[];
}

// Air at sea level, 1.2 kg/m3; rolling resistance of road tyres near 0.012 of the weight; slope of the test road within about 1 %.
const HALF_AIR_DENSITY = 0.6;
const ROLLING_MPS2 = 0.012 * STANDARD_GRAVITY_MPS2;
const SLOPE_SIGMA_MPS2 = 0.1;
const DEFAULT_DRAG_AREA_M2 = 0.65;
const DEFAULT_WHEEL_INERTIA = 3;
// Launches ramp up in 0.1 to 0.6 s; tyres and shafts allow no faster one. A slower rise is no ramp but wheels that spun and gripped again,
// which the disturbance follows.
const RAMP_SIGMA_S = 0.3;
const LEAST_RAMP_S = 0.02;
const MOST_RAMP_S = 0.7;

/**
 * Where torque is unknown: standard deviation of the force around a straight line between its ends, m/s2, and seconds between free values.
 */
const UNHEARD_MPS2 = 3;
const UNHEARD_STEP_S = 0.2;
const MOST_UNHEARD_VALUES = 40;

const dragOf = (area: number | null, massKg: number) => ({
  mean: (HALF_AIR_DENSITY * (area ?? DEFAULT_DRAG_AREA_M2)) / massKg,
  sigma: ((area === null ? 0.4 : 0.2) * HALF_AIR_DENSITY * (area ?? DEFAULT_DRAG_AREA_M2)) / massKg,
});

/**
 * m v' = gain T ratio / R - inertia w' / R - drag - rolling, anchored at a speed just after the start. With this anchor the model is linear
 * in all its unknowns. Before the anchor, the car stood where the speed falls to 0 or where nothing pushes.
 */
export function torqueModel(grid: LaunchGrid, anchorS: number, anchorMps: number, inputs: TorqueInputs): LaunchModel {
  const { torqueNm, wheelRadps, massKg, gearRatio, radiusM } = inputs;
  const perNm = gearRatio / (massKg * radiusM);
  const perRadps = (inputs.wheelInertiaKgM2 ?? DEFAULT_WHEEL_INERTIA) / (massKg * radiusM);
  const drag = dragOf(inputs.dragAreaM2, massKg);
  const last = grid.count - 1;
  const anchor = Math.max(1, Math.min(last - 1, Math.round((anchorS - grid.fromS) / GRID_S)));
  const known: Parameter[] = [
    { name: "anchor", mean: anchorMps, sigma: 1, difference: 1e-3 },
    { name: "gain", mean: 0.98, sigma: 0.08, difference: 1e-4 },
    { name: "resistance", mean: ROLLING_MPS2, sigma: SLOPE_SIGMA_MPS2, difference: 1e-4 },
    { name: "drag", mean: drag.mean, sigma: drag.sigma, difference: drag.mean * 1e-2 },
    { name: "inertia", mean: 1, sigma: inputs.wheelInertiaKgM2 === null ? 0.5 : 0.15, difference: 1e-3 },
    { name: "torqueDelay", mean: 0.002, sigma: 0.004, difference: 1e-3 },
  ];
  const free = freeForces(inputs.unheard, last);
  const values = free.reduce((sum, one) => sum + one.values, 0);
  const unheard = Array.from({ length: values }, (_, k) => ({ name: `unheard ${k}`, mean: 0, sigma: UNHEARD_MPS2, difference: 0.05 }));
  return {
    kind: "torque",
    grid,
    parameters: [...known, ...unheard],
    drive: (theta, speed, slope, push) => {
      const force = theta[1] * perNm;
      const resistance = theta[2];
      const cd = theta[3];
      const spin = theta[4] * perRadps;
      const shift = theta[5] / GRID_S;
      const whole = Math.floor(shift);
      const part = shift - whole;
      for (let i = 0; i <= last; i++) {
        const late = Math.max(0, Math.min(last, i - whole));
        const later = Math.max(0, Math.min(last, i - whole - 1));
        push[i] = force * (torqueNm[late] * (1 - part) + torqueNm[later] * part) - resistance;
      }
      addFreeForces(free, theta, known.length, push);
      const across = (i: number, v: number) =>
        ((push[i - 1] + push[i]) / 2 - cd * v * v) * GRID_S - (wheelRadps ? spin * (wheelRadps[i] - wheelRadps[i - 1]) : 0);
      speed[anchor] = theta[0];
      for (let i = anchor + 1; i <= last; i++) speed[i] = speed[i - 1] + across(i, speed[i - 1]);
      for (let i = anchor; i > 0; i--) speed[i - 1] = speed[i] - across(i, speed[i]);
      if (slope !== null) slopeOf(speed, slope);
      return anchor;
    },
  };
}

interface FreeForce {
  readonly from: number;
  readonly to: number;
  /** Grid points between two values. */
  readonly step: number;
  readonly values: number;
}

/** The free values of each hole. They are 0 at the last torque before the hole and at the first one after it, if there is one. */
function freeForces(holes: TorqueInputs["unheard"], last: number): FreeForce[] {
  const points = holes.reduce((sum, { from, to }) => sum + to - from, 0);
  const wanted = Math.max(UNHEARD_STEP_S / GRID_S, points / MOST_UNHEARD_VALUES);
  return holes.map(({ from, to }) => {
    const parts = Math.max(2, Math.ceil((to - from) / wanted));
    return { from, to, step: (to - from) / parts, values: to >= last ? parts : parts - 1 };
  });
}

/** Straight lines between the free values; their parameters begin at index `first`. */
function addFreeForces(free: readonly FreeForce[], theta: ArrayLike<number>, first: number, push: Float64Array): void {
  let begin = first;
  for (const { from, to, step, values } of free) {
    const value = (k: number) => (k >= 1 && k <= values ? theta[begin + k - 1] : 0);
    for (let i = from; i <= to && i < push.length; i++) {
      const k = Math.floor((i - from) / step);
      const part = (i - from) / step - k;
      push[i] += value(k) * (1 - part) + (part > 0 ? value(k + 1) * part : 0);
    }
    begin += values;
  }
}

/** Start values for the fit of a family. */
interface FamilyGuess {
  readonly startS: number;
  readonly rampS: number;
  readonly limitMps2: number;
}

/** a = shape((t - start) / ramp) times the smaller of a limit and power / v, less drag and rolling. */
export function familyModel(
  grid: LaunchGrid,
  { startS, rampS, limitMps2 }: FamilyGuess,
  { massKg, dragAreaM2 }: Pick<CarSetUp, "massKg" | "dragAreaM2">,
): LaunchModel {
  const drag = dragOf(dragAreaM2 ?? null, massKg);
  return {
    kind: "family",
    grid,
    parameters: [
      { name: "start", mean: startS, sigma: 0.5, difference: 1e-3 },
      { name: "ramp", mean: rampS, sigma: RAMP_SIGMA_S, difference: 2e-3, within: [LEAST_RAMP_S + 2e-3, MOST_RAMP_S - 2e-3] },
      { name: "logLimit", mean: Math.log(limitMps2), sigma: 0.5, difference: 1e-4 },
      { name: "logPower", mean: Math.log(limitMps2 * 25), sigma: 0.6, difference: 1e-4 },
      { name: "resistance", mean: ROLLING_MPS2, sigma: SLOPE_SIGMA_MPS2, difference: 1e-3 },
      { name: "drag", mean: drag.mean, sigma: drag.sigma, difference: drag.mean * 1e-2 },
    ],
    drive: (theta, speed, slope, push) => {
      const first = (theta[0] - grid.fromS) / GRID_S;
      const ramp = Math.min(MOST_RAMP_S, Math.max(LEAST_RAMP_S, theta[1]));
      const limit = Math.exp(theta[2]);
      const power = Math.exp(theta[3]);
      const pushAt = (age: number, v: number) =>
        Math.max(0, Math.min(1, age / ramp)) * smoothLeast(limit, power / Math.max(v, 1)) - theta[4] - theta[5] * v * v;
      let v = 0;
      let here = first;
      const begin = Math.max(0, Math.min(grid.count - 1, Math.ceil(first)));
      for (let i = 0; i < begin; i++) {
        speed[i] = 0;
        push[i] = -1;
      }
      for (let i = begin; i < grid.count; i++) {
        const step = (i - here) * GRID_S;
        if (step > 0) {
          const before = pushAt((here - first) * GRID_S, v);
          const after = pushAt((i - first) * GRID_S, v + before * step);
          v = Math.max(0, v + ((before + after) / 2) * step);
        }
        here = i;
        speed[i] = v;
        push[i] = 1;
      }
      if (slope !== null) slopeOf(speed, slope);
      return begin;
    },
  };
}

/** The smaller of two, rounded where they differ by a few percent, so that the derivative sees both. */
function smoothLeast(a: number, b: number): number {
  const ratio = a < b ? a / b : b / a;
  return ratio < 0.7 ? Math.min(a, b) : Math.min(a, b) * (1 + ratio ** 20) ** (-1 / 20);
}

function slopeOf(speed: Float64Array, slope: Float64Array): void {
  const n = speed.length;
  for (let i = 0; i < n; i++) {
    const low = Math.max(0, i - 1);
    const high = Math.min(n - 1, i + 1);
    slope[i] = (speed[high] - speed[low]) / ((high - low) * GRID_S);
  }
}
