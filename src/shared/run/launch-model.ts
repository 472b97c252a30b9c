/**
 * Forward model of one launch on a 10 ms grid: standing until a start, then driven by the torque that was delivered or,
 * where none is known, by a smooth family (ramp, limited acceleration, power limit, drag). Pure; unknown inputs fall back, never to 0.
 */
import { STANDARD_GRAVITY_MPS2 } from "../kernel/units.ts";

export const GRID_S = 0.01;

export interface LaunchGrid {
  readonly fromS: number;
  readonly count: number;
}

/** A parameter with its Gaussian prior, a step for differences and the most one iteration may move it. */
export interface Parameter {
  readonly name: string;
  readonly mean: number;
  readonly sigma: number;
  readonly difference: number;
  readonly most: number;
}

export interface LaunchModel {
  readonly kind: "torque" | "family";
  readonly grid: LaunchGrid;
  /** The first is always the start, s on the base. */
  readonly parameters: readonly Parameter[];
  /** Writes speed (m/s) and the model's own acceleration (m/s2) at every grid point. */
  readonly drive: (theta: ArrayLike<number>, speed: Float64Array, acceleration: Float64Array) => void;
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
}

// Sea-level air, 1.2 kg/m3; rolling resistance of road tyres near 0.012 of the weight, slope of the test road within about 1 %.
const HALF_AIR_DENSITY = 0.6;
const ROLLING_MPS2 = 0.012 * STANDARD_GRAVITY_MPS2;
const SLOPE_SIGMA_MPS2 = 0.1;
const DEFAULT_DRAG_AREA_M2 = 0.65;
const DEFAULT_WHEEL_INERTIA = 3;

const dragOf = (area: number | null, massKg: number) => ({
  mean: (HALF_AIR_DENSITY * (area ?? DEFAULT_DRAG_AREA_M2)) / massKg,
  sigma: ((area === null ? 0.4 : 0.2) * HALF_AIR_DENSITY * (area ?? DEFAULT_DRAG_AREA_M2)) / massKg,
});

/** m v' = gain T ratio / R - inertia w' / R - drag - rolling, from the start on. */
export function torqueModel(grid: LaunchGrid, startS: number, inputs: TorqueInputs): LaunchModel {
  const { torqueNm, wheelRadps, massKg, gearRatio, radiusM } = inputs;
  const perNm = gearRatio / (massKg * radiusM);
  const perRadps = (inputs.wheelInertiaKgM2 ?? DEFAULT_WHEEL_INERTIA) / (massKg * radiusM);
  const drag = dragOf(inputs.dragAreaM2, massKg);
  const last = grid.count - 1;
  const at = (column: Float64Array, x: number) => {
    const i = Math.max(0, Math.min(last - 1, Math.floor(x)));
    const part = Math.max(0, Math.min(1, x - i));
    return column[i] + part * (column[i + 1] - column[i]);
  };
  return {
    kind: "torque",
    grid,
    parameters: [
      { name: "start", mean: startS, sigma: 0.5, difference: 1e-3, most: 0.06 },
      { name: "gain", mean: 0.98, sigma: 0.08, difference: 1e-4, most: 0.1 },
      { name: "resistance", mean: ROLLING_MPS2, sigma: SLOPE_SIGMA_MPS2, difference: 1e-4, most: 0.3 },
      { name: "drag", mean: drag.mean, sigma: drag.sigma, difference: drag.mean * 1e-3, most: drag.mean },
      { name: "inertia", mean: 1, sigma: inputs.wheelInertiaKgM2 === null ? 0.5 : 0.15, difference: 1e-3, most: 0.5 },
      { name: "torqueDelay", mean: 0.002, sigma: 0.005, difference: 1e-3, most: 0.01 },
    ],
    drive: (theta, speed, acceleration) => {
      const [start, gain, resistance, cd, inertia, delay] = [theta[0], theta[1], theta[2], theta[3], theta[4], theta[5]];
      const first = (start - grid.fromS) / GRID_S;
      const shift = delay / GRID_S;
      const spin = inertia * perRadps;
      const push = (x: number) => gain * perNm * at(torqueNm, x - shift) - resistance;
      let v = 0;
      let here = first;
      const begin = Math.max(0, Math.ceil(first));
      for (let i = 0; i < Math.min(begin, grid.count); i++) speed[i] = acceleration[i] = 0;
      for (let i = begin; i < grid.count; i++) {
        const step = (i - here) * GRID_S;
        if (step > 0) {
          // Trapezoid in the torque; drag at the old speed is exact enough, it changes by 1e-4 within a step.
          v += ((push(here) + push(i)) / 2 - cd * v * v) * step;
          if (wheelRadps) v -= spin * (at(wheelRadps, i) - at(wheelRadps, here));
          if (v < 0) v = 0;
        }
        here = i;
        speed[i] = v;
      }
      slopeOf(speed, acceleration, begin);
    },
  };
}

/** a = shape((t - start) / ramp) times the smaller of a limit and power / v, less drag and rolling. */
export function familyModel(
  grid: LaunchGrid,
  startS: number,
  rampS: number,
  limitMps2: number,
  massKg: number,
  dragAreaM2: number | null,
): LaunchModel {
  const drag = dragOf(dragAreaM2, massKg);
  return {
    kind: "family",
    grid,
    parameters: [
      { name: "start", mean: startS, sigma: 0.5, difference: 1e-3, most: 0.06 },
      { name: "logRamp", mean: Math.log(rampS), sigma: 0.7, difference: 1e-3, most: 0.4 },
      { name: "logLimit", mean: Math.log(limitMps2), sigma: 0.5, difference: 1e-4, most: 0.2 },
      { name: "logPower", mean: Math.log(limitMps2 * 20), sigma: 1, difference: 1e-4, most: 0.3 },
      { name: "resistance", mean: ROLLING_MPS2, sigma: SLOPE_SIGMA_MPS2, difference: 1e-3, most: 0.3 },
      { name: "drag", mean: drag.mean, sigma: drag.sigma, difference: drag.mean * 1e-2, most: drag.mean },
    ],
    drive: (theta, speed, acceleration) => {
      const first = (theta[0] - grid.fromS) / GRID_S;
      const ramp = Math.exp(theta[1]);
      const limit = Math.exp(theta[2]);
      const power = Math.exp(theta[3]);
      const push = (age: number, v: number) =>
        Math.max(0, Math.min(1, age / ramp)) * Math.min(limit, power / Math.max(v, 1)) - theta[4] - theta[5] * v * v;
      let v = 0;
      let here = first;
      const begin = Math.max(0, Math.ceil(first));
      for (let i = 0; i < Math.min(begin, grid.count); i++) speed[i] = acceleration[i] = 0;
      for (let i = begin; i < grid.count; i++) {
        const step = (i - here) * GRID_S;
        if (step > 0) {
          const before = push((here - first) * GRID_S, v);
          const after = push((i - first) * GRID_S, v + before * step);
          v = Math.max(0, v + ((before + after) / 2) * step);
        }
        here = i;
        speed[i] = v;
      }
      slopeOf(speed, acceleration, begin);
    },
  };
}

function slopeOf(speed: Float64Array, acceleration: Float64Array, begin: number): void {
  const n = speed.length;
  for (let i = begin; i < n; i++) {
    const low = Math.max(0, i - 1);
    const high = Math.min(n - 1, i + 1);
    acceleration[i] = high > low ? (speed[high] - speed[low]) / ((high - low) * GRID_S) : 0;
  }
}
