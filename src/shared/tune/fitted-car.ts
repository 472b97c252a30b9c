/** The car as the runs and the gentle driving show it, beside what the set-up says. What could not be told says why. */
import { AIR_KGPM3 } from "../align/force-balance.ts";
import { STANDARD_GRAVITY_MPS2 } from "../kernel/units.ts";
import type { CarFigure, Figure } from "./figure.ts";

/** Torque held against motion: a check that is shown, nothing is corrected by it. */
export interface TorqueCheck {
  /** Force that delivered torque stands for over the force that the car's motion took; 1 where they agree. */
  readonly ratio: Figure;
  /** Whether the interval leaves out 1. */
  readonly disagree: boolean;
  /** One sentence. */
  readonly words: string;
}

/** One that always has a value: fitted, entered, or usual for road cars. */
export type KnownCarFigure = CarFigure & Figure;

/** All figures in SI units; the gear ratio and rolling radius as the runs used them. */
export interface FittedCar {
  readonly massKg: KnownCarFigure;
  readonly gearRatio: number;
  readonly rollingRadiusM: KnownCarFigure;
  readonly dragAreaM2: KnownCarFigure;
  /** Rolling force over weight. */
  readonly rollingResistance: KnownCarFigure;
  /** Whole driven axle with the rotor, referred to the wheel. */
  readonly axleInertiaKgM2: KnownCarFigure;
  /** Most torque at the motor shaft. */
  readonly fullTorqueNm: CarFigure;
  /** Most power at the motor shaft. */
  readonly fullPowerW: CarFigure;
  /** Axle force per newton metre at the motor: gear ratio over radius, times what the torque check found. */
  readonly newtonPerNm: KnownCarFigure;
  readonly load: LoadModel;
  /** Null where no torque is mapped, or no launch lets it be seen. */
  readonly torqueCheck: TorqueCheck | null;
  /** Sentences for a person: what is missing and what it costs. */
  readonly notes: readonly string[];
}

/** Load on the driven axle: static part plus what acceleration throws on it (rear) or takes off it (front). */
export interface LoadModel {
  /** N, standing. */
  readonly staticN: number;
  /** N per m/s2 of the car's acceleration; negative for a driven front axle. */
  readonly perMps2: number;
  /** Relative 95 % half width of what the set-up leaves open, added to every friction. */
  readonly share95: number;
  /** Why it is a guess; absent where the set-up says it all. */
  readonly why?: string;
}

/** Drag and rolling resistance, N, at a forward speed. */
export function resistanceN({ massKg, dragAreaM2, rollingResistance }: ForcesOfCar, speedMps: number): number {
  return 0.5 * AIR_KGPM3 * dragAreaM2.value * speedMps * speedMps + rollingResistance.value * massKg.value * STANDARD_GRAVITY_MPS2;
}

/** Load on the driven axle, N, at an acceleration; never below nothing. */
export function drivenLoadN({ staticN, perMps2 }: LoadModel, accelerationMps2: number): number {
  return Math.max(0, staticN + perMps2 * accelerationMps2);
}

/** Most torque at the motor shaft at a motor speed; null where the runs never showed it. */
export function fullTorqueAt(
  { fullTorqueNm, fullPowerW }: Pick<FittedCar, "fullTorqueNm" | "fullPowerW">,
  motorRadps: number,
): number | null {
  if (fullTorqueNm.value === null) return null;
  if (fullPowerW.value === null || motorRadps <= 0) return fullTorqueNm.value;
  return Math.min(fullTorqueNm.value, fullPowerW.value / motorRadps);
}

type ForcesOfCar = Pick<FittedCar, "massKg" | "dragAreaM2" | "rollingResistance">;
