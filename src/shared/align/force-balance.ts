/**
 * From force to speed through the car's mass: prior knowledge of mass, drag, rolling and gears, and the integrals over time that give a
 * speed. Pure; a stretch that is too short is left out.
 */
import { GRID_STEP_S } from "./drive-grid.ts";

export const AIR_KGPM3 = 1.2;
export const DRAG_AREA_M2 = 0.65;
export const ROLLING = 0.012;
/** Mass and radius are known to 5 %, drag to 30 %, rolling and the mean slope together to 1 %, gear loss as 1.5 +- 1 % (all from memory). */
export const GAIN_SIGMA = 0.05;
export const DRAG_SIGMA = 0.3;
export const ROLL_SIGMA_MPS2 = 0.1;
export const GEAR_LOSS = 0.015;
export const GEAR_LOSS_SIGMA = 0.01;
/**
 * Inverters report torque early or late by a fifth of a bus period of 10 ms (from memory). Where motor speed is there, even 20 ms are found
 * by the fit.
 */
export const REPORT_SIGMA_S = 0.002;
const LEAST_STRETCH_S = 5;

/** Running integral over the grid by the trapezoidal rule. */
export function integral(column: Float64Array): Float64Array {
  const out = new Float64Array(column.length);
  for (let i = 1; i < column.length; i++) out[i] = out[i - 1] + ((column[i] + column[i - 1]) / 2) * GRID_STEP_S;
  return out;
}

/** Number of the calm stretch at each grid point; -1 outside of stretches that are long enough. */
export function stretchesOf(calm: Uint8Array): Int32Array {
  const stretch = new Int32Array(calm.length).fill(-1);
  const least = Math.round(LEAST_STRETCH_S / GRID_STEP_S);
  let number = 0;
  for (let from = 0; from < calm.length; ) {
    let to = from;
    while (to < calm.length && calm[to] === 1) to += 1;
    if (to - from >= least) stretch.fill(number++, from, to);
    from = Math.max(to, from + 1);
  }
  return stretch;
}

/** A running integral that starts at 0 with each stretch; 0 outside. */
export function sinceStretch(sum: Float64Array, stretch: Int32Array): Float64Array {
  let from = 0;
  return sum.map((value, i) => {
    if (stretch[i] < 0) return 0;
    if (i === 0 || stretch[i] !== stretch[i - 1]) from = value;
    return value - from;
  });
}
