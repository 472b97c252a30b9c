/**
 * Fits slip stiffness on the bus alone. Torque through the car's mass gives one speed, the motor another; once mass, drag, rolling and a
 * varying slope are fitted, only tyre slip explains the difference. Gentle driving cannot separate slip from the receiver's delay; this
 * can. Null where too little is left.
 */
import { STANDARD_GRAVITY_MPS2 } from "../kernel/units.ts";
import type { SetUp } from "../setup/set-up.ts";
import { type DriveGrid, GRID_STEP_S, slopeAt } from "./drive-grid.ts";
import {
  AIR_KGPM3,
  DRAG_AREA_M2,
  DRAG_SIGMA,
  GAIN_SIGMA,
  GEAR_LOSS_SIGMA,
  integral,
  REPORT_SIGMA_S,
  ROLL_SIGMA_MPS2,
  ROLLING,
  sinceStretch,
  stretchesOf,
} from "./force-balance.ts";
import { createForceWhitener, MOTOR_SHAPES } from "./force-noise.ts";
import { bentTorque, bentTorqueByBend, type SlipKnowledge, statementsOf } from "./slip-curve.ts";
import { alone, weighedStep } from "./weighed-step.ts";

/** Every tenth grid point: the grid's smoothing correlates nearer ones. */
const STRIDE = 10;
const LEAST_POINTS = 100;
const PASSES = 4;
/**
 * Share of slip left open by effects that are not fitted: load that moves with slopes and gusts, a contact patch that lags (from memory).
 */
const MODEL_SHARE = 0.02;
/** An axle inertia that the set-up leaves out is typical to 3 kg m2: 2 % of a car's mass, and as much of slip. */
const UNKNOWN_AXLE_SHARE = 0.02;
/** Indices of the parameters: gain, loss, drag, roll, slip, bend, twist, report. */
const SLIP = 4;

/** An answer, with the standard deviation of acceleration that it attributes to the road, m/s2. */
interface Answer extends SlipKnowledge {
  readonly slopeMps2: number;
}

/**
 * Fits slip, bend and twist. `known` is prior knowledge of them; `radiusM` need only be approximate. A slope that the driver corrects by
 * pedal shows in the torque, one that the driver ignores shows in the acceleration. So slip is fitted against each of them. Where both give
 * an equally rough road, the answer lies between the two and its interval covers their difference.
 */
export function fitSlipByForce(grid: DriveGrid, setUp: SetUp, radiusM: number, known: SlipKnowledge): SlipKnowledge | null {
  const byTorque = fitAgainst(null, grid, setUp, radiusM, known);
  const byMotion = byTorque === null ? null : fitAgainst(byTorque, grid, setUp, radiusM, known);
  if (byTorque === null || byMotion === null) return null;
  // On a level road the fit against torque leaves nothing to the road; then it alone counts.
  const share = 0.5 * Math.min(1, (byTorque.slopeMps2 / byMotion.slopeMps2) ** 2);
  const open = Math.hypot(MODEL_SHARE, setUp.car.wheelInertiaKgM2 === undefined ? UNKNOWN_AXLE_SHARE : 0);
  const [a, b] = [byTorque.mean, byMotion.mean];
  const off = [0, 1, 2].map((i) => share * (b[i] - a[i]));
  return {
    mean: [a[0] + off[0], a[1] + off[1], a[2] + off[2]],
    covariance: Float64Array.from({ length: 9 }, (_, k) => {
      const model = k === 0 ? (open * a[0]) ** 2 : 0;
      return byTorque.covariance[k] + off[Math.floor(k / 3)] * off[k % 3] + model;
    }),
  };
}

/** Fits against torque; or, where an answer by torque is given, against the torque that the car's motion then needs. */
function fitAgainst(before: SlipKnowledge | null, grid: DriveGrid, setUp: SetUp, radiusM: number, known: SlipKnowledge): Answer | null {
  const { massKg, gearRatio, dragAreaM2 = DRAG_AREA_M2 } = setUp.car;
  const calm = grid.gentle.map((gentle, i) => (gentle === 1 && Number.isFinite(grid.twistNmps[i]) ? 1 : 0));
  const stretch = stretchesOf(calm);
  const speed = grid.spin.map((spin) => spin * radiusM);
  const force = grid.torqueNm.map((nm) => (Number.isFinite(nm) ? (nm * gearRatio) / (radiusM * massKg) : 0));
  const drag = speed.map((v) => (Number.isFinite(v) ? (0.5 * AIR_KGPM3 * dragAreaM2 * v * v) / massKg : 0));
  const pushed =
    before === null
      ? grid.slipTorqueNm
      : torqueOfMotion({ grid, speed, drag, known: before, radiusM, nmPerMps2: (radiusM * massKg) / gearRatio });
  const rows: number[] = [];
  for (let i = 0; i < grid.count; i += STRIDE) if (stretch[i] >= 0 && Number.isFinite(pushed[i])) rows.push(i);
  if (rows.length < LEAST_POINTS) return null;
  const ones = new Float64Array(grid.count).fill(1);
  const sums = [force, force.map(Math.abs), drag, ones].map((column) => sinceStretch(integral(column), stretch));
  const times = rows.map((i) => i * GRID_STEP_S);
  const stretches = rows.map((i) => stretch[i]);
  const beforehand = [
    { at: 0, mean: 1, sigma: GAIN_SIGMA },
    // The grid's torque already contains the usual loss.
    { at: 1, mean: 0, sigma: GEAR_LOSS_SIGMA },
    { at: 2, mean: 1, sigma: DRAG_SIGMA },
    { at: 3, mean: 0, sigma: ROLL_SIGMA_MPS2 },
    { at: 7, mean: 0, sigma: REPORT_SIGMA_S },
  ];
  const parameters = Float64Array.of(1, 0, 1, 0, ...known.mean, 0);
  const statements = statementsOf(known);
  let shapes = MOTOR_SHAPES;
  let covariance = new Float64Array();
  let slopeMps2 = Number.NaN;
  for (let pass = 0; pass < PASSES; pass++) {
    const [gain, loss, dragShare, roll, slip, bend, twist, report] = parameters;
    const residuals = new Float64Array(rows.length);
    const derivatives = Array.from(parameters, () => new Float64Array(rows.length));
    let first = 0;
    rows.forEach((i, k) => {
      if (k === 0 || stretches[k] !== stretches[k - 1]) first = speed[i];
      const bent = bentTorque(pushed[i], grid.loadShare[i], bend);
      const parts = [sums[0][i], -sums[1][i], -sums[2][i], -sums[3][i]];
      const rolling = ROLLING * STANDARD_GRAVITY_MPS2 + roll;
      const made = gain * parts[0] + loss * parts[1] + dragShare * parts[2] + rolling * parts[3];
      const slipped = speed[i] * slip * bent + twist * radiusM * grid.twistNmps[i] - report * force[i];
      residuals[k] = speed[i] - first - made - slipped;
      parts.forEach((part, j) => {
        derivatives[j][k] = part;
      });
      derivatives[SLIP][k] = speed[i] * bent;
      derivatives[5][k] = speed[i] * slip * bentTorqueByBend(pushed[i], grid.loadShare[i], bend);
      derivatives[6][k] = radiusM * grid.twistNmps[i];
      derivatives[7][k] = -force[i];
    });
    const fitted = weighedStep({
      residuals,
      derivatives,
      shapes,
      whitenerOf: (shape) => createForceWhitener(times, stretches, shape),
      logPrior: () => 0,
      beforehand: [
        ...alone(beforehand, parameters),
        ...statements.map((statement) => ({
          weights: Float64Array.of(0, 0, 0, 0, ...statement, 0),
          off: known.mean.reduce((sum, mean, j) => sum + statement[j] * (mean - parameters[SLIP + j]), 0),
        })),
      ],
    });
    fitted.step.forEach((value, a) => {
      parameters[a] += value;
    });
    shapes = fitted.likely;
    slopeMps2 = fitted.best.shape.slopePerS * Math.sqrt(fitted.best.variance);
    covariance = Float64Array.from({ length: 9 }, (_, k) => {
      const [row, column] = [SLIP + Math.floor(k / 3), SLIP + (k % 3)];
      return fitted.covariance[row * parameters.length + column];
    });
  }
  return { mean: [parameters[SLIP], parameters[SLIP + 1], parameters[SLIP + 2]], covariance, slopeMps2 };
}

interface Motion {
  readonly grid: DriveGrid;
  /** Road speed of the driven wheels, m/s. */
  readonly speed: Float64Array;
  /** Deceleration by the air, m/s2. */
  readonly drag: Float64Array;
  readonly known: SlipKnowledge;
  readonly radiusM: number;
  /** Motor torque per m/s2 of acceleration. */
  readonly nmPerMps2: number;
}

/** Torque that the car's motion needs on level ground. Slip and twist depend on torque and are first subtracted from the motor's speed. */
function torqueOfMotion({ grid, speed, drag, known, radiusM, nmPerMps2 }: Motion): Float64Array {
  const [slipPerNm, bend, twist] = known.mean;
  const ground = speed.map(
    (v, i) => (v - twist * radiusM * grid.twistNmps[i]) / (1 + slipPerNm * bentTorque(grid.slipTorqueNm[i], grid.loadShare[i], bend)),
  );
  return ground.map((_, i) => {
    const standing = Math.abs(grid.torqueNm[i]) > 1 ? grid.slipTorqueNm[i] / grid.torqueNm[i] : 1;
    return (slopeAt(ground, i) + drag[i] + ROLLING * STANDARD_GRAVITY_MPS2) * nmPerMps2 * standing;
  });
}
