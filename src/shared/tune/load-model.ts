/**
 * Load on the driven axle from the set-up: the static load, and what acceleration moves. Missing values are taken as usual, with a wider
 * share and `why`.
 */
import { STANDARD_GRAVITY_MPS2 } from "../kernel/units.ts";
import type { CarSetUp } from "../setup/set-up.ts";
import type { LoadModel } from "./fitted-car.ts";

/** How far entered values may be off: relative 95 % half widths. */
export interface SetUpTolerance {
  readonly mass: number;
  readonly frontWeightShare: number;
  readonly cgHeight: number;
}

/** A car weighed on a level floor; heights are mostly estimated. Common practice, no source. */
export const USUAL_TOLERANCE: SetUpTolerance = { mass: 0.05, frontWeightShare: 0.05, cgHeight: 0.05 };

/** Half the weight in front, a centre of gravity at a fifth of the wheelbase: two-door road cars (from memory). */
const USUAL_FRONT_SHARE = 0.5;
const USUAL_HEIGHT_SHARE = 0.2;
const GUESSED_FRONT_SHARE = 0.12;
const GUESSED_HEIGHT = 0.25;
/** Acceleration at which the share is calculated: the middle of what launches reach. */
const TYPICAL_MPS2 = 5;

/** Load model of a car from its set-up. */
export function loadModelOf(car: CarSetUp, tolerance: SetUpTolerance): LoadModel {
  const { massKg, drivenAxle, wheelbaseM, cgHeightM, frontWeightShare } = car;
  const missing = [
    ...(frontWeightShare === undefined ? ["frontWeightShare"] : []),
    ...(cgHeightM === undefined ? ["cgHeightM"] : []),
    ...(wheelbaseM === undefined ? ["wheelbaseM"] : []),
  ];
  const front = frontWeightShare ?? USUAL_FRONT_SHARE;
  const heightKnown = cgHeightM !== undefined && wheelbaseM !== undefined;
  const heightShare = heightKnown ? cgHeightM / wheelbaseM : USUAL_HEIGHT_SHARE;
  const staticN = massKg * STANDARD_GRAVITY_MPS2 * (drivenAxle === "rear" ? 1 - front : front);
  const perMps2 = (drivenAxle === "rear" ? 1 : -1) * massKg * heightShare;
  const frontOffN =
    massKg * STANDARD_GRAVITY_MPS2 * front * (frontWeightShare === undefined ? GUESSED_FRONT_SHARE : tolerance.frontWeightShare);
  const heightOffN = Math.abs(perMps2) * TYPICAL_MPS2 * (heightKnown ? tolerance.cgHeight : GUESSED_HEIGHT);
  // Entered values are off by a fixed amount, not at random: bounds are added and do not average out.
  const share95 = (frontOffN + heightOffN) / drivenLoad(staticN, perMps2);
  if (missing.length === 0) return { staticN, perMps2, share95 };
  const why = `The set-up has no ${missing.join(", ")}: the load on the driven axle is that of a usual car, friction is known to ${Math.round(100 * share95)} % only`;
  return { staticN, perMps2, share95, why };
}

const drivenLoad = (staticN: number, perMps2: number) => staticN + perMps2 * TYPICAL_MPS2;
