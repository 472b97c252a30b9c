/** The car as fitted to runs and gentle driving, beside the set-up's values. An unknown figure says why. */
import { AIR_KGPM3 } from "../align/force-balance.ts";
import { STANDARD_GRAVITY_MPS2 } from "../kernel/units.ts";
import type { CarFigure, Figure } from "./figure.ts";

/** Torque compared with motion: a check to be shown; nothing is corrected by it. */
export interface TorqueCheck {
  /** Force from delivered torque over force from the car's motion; 1 where they agree. */
  readonly ratio: Figure;
  /** Whether the interval leaves out 1. */
  readonly disagree: boolean;
  /** One sentence. */
  readonly words: string;
}

/** A figure that always has a value: fitted, entered, or usual for road cars. */
export type KnownCarFigure = CarFigure & Figure;

/** All figures in SI units; the gear ratio and rolling radius as the runs used them. */
export interface FittedCar {
  readonly massKg: KnownCarFigure;
  readonly gearRatio: number;
  readonly rollingRadiusM: KnownCarFigure;
  readonly dragAreaM2: KnownCarFigure;
  /** Rolling resistance force over weight. */
  readonly rollingResistance: KnownCarFigure;
  /** Whole driven axle with the rotor, referred to the wheel. */
  readonly axleInertiaKgM2: KnownCarFigure;
  /** Most torque at the motor shaft. */
  readonly fullTorqueNm: CarFigure;
  /** Most power at the motor shaft. */
  readonly fullPowerW: CarFigure;
  /** Axle force per newton metre at the motor: gear ratio over radius, times the ratio found by the torque check. */
  readonly newtonPerNm: KnownCarFigure;
  readonly load: LoadModel;
  /** Null where no torque is mapped, or where no launch allows the check. */
  readonly torqueCheck: TorqueCheck | null;
  /** Sentences for people: what is missing, and what that costs. */
  readonly notes: readonly string[];
}

/** Load on the driven axle: static load plus what acceleration moves onto it (rear) or off it (front). */
export interface LoadModel {
  /** Static load, N. */
  readonly staticN: number;
  /** Change of load for each m/s2 of the car's acceleration, N; negative for a driven front axle. */
  readonly perMps2: number;
  /** Relative 95 % half width from what the set-up leaves open; added to every friction. */
  readonly share95: number;
  /** Why it is an estimate; absent where the set-up gives everything. */
  readonly why?: string;
}

/** Drag and rolling resistance, N, at a forward speed. */
export function resistanceN({ massKg, dragAreaM2, rollingResistance }: ForcesOfCar, speedMps: number): number {
  return 0.5 * AIR_KGPM3 * dragAreaM2.value * speedMps * speedMps + rollingResistance.value * massKg.value * STANDARD_GRAVITY_MPS2;
}

/** Load on the driven axle at an acceleration, N; never below 0. */
export function drivenLoadN({ staticN, perMps2 }: LoadModel, accelerationMps2: number): number {
  return Math.max(0, staticN + perMps2 * accelerationMps2);
}

/** Most torque at the motor shaft at a motor speed; null where no run showed it. */
export function fullTorqueAt(
  { fullTorqueNm, fullPowerW }: Pick<FittedCar, "fullTorqueNm" | "fullPowerW">,
  motorRadps: number,
): number | null {
  if (fullTorqueNm.value === null) return null;
  if (fullPowerW.value === null || motorRadps <= 0) return fullTorqueNm.value;
  return Math.min(fullTorqueNm.value, fullPowerW.value / motorRadps);
}

type ForcesOfCar = Pick<FittedCar, "massKg" | "dragAreaM2" | "rollingResistance">;
