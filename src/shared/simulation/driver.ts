/** The driver's actions: holds a speed gently, brakes to a stop, stands. Numbers stay finite at any speed. */
import { STANDARD_GRAVITY_MPS2 } from "../kernel/units.ts";
import type { CarModel } from "./car-model.ts";
import type { CarParameters } from "./car-parameters.ts";
import type { Controls } from "./controls.ts";
import type { Random } from "./random.ts";

/** Each call sets the controls for one millisecond. Speeds signed, forward positive. */
export interface Driver {
  holdSpeed(targetMps: number, mostMps2: number): void;
  /** Presses the pedal to this share of the available torque. */
  press(pedalPercent: number): void;
  /** Regenerates and brakes at about this deceleration; ends exactly at rest. */
  brake(decelerationMps2: number): void;
  stand(): void;
}

const HOLD_N = 4000;
const FRONT_BRAKE_SHARE = 0.66;
const REGEN_FADES_BELOW_MPS = 3;

/** The driver of one car; `random` gives an unsteady foot of a few Nm. */
export function createDriver({
  car,
  model,
  controls,
  random,
}: {
  car: CarParameters;
  model: CarModel;
  controls: Controls;
  random: Random;
}): Driver {
  const state = model.state;
  let accelerationMps2 = 0;
  let waverNm = 0;

  function release(): void {
    controls.torqueNm = 0;
    controls.pedalPercent = 0;
    controls.frontBrakeN = 0;
    controls.rearBrakeN = 0;
    controls.pushN = 0;
  }

  return {
    holdSpeed(targetMps, mostMps2) {
      release();
      waverNm += (-waverNm * 1e-3) / 0.6 + 4 * random.normal() * Math.sqrt(2e-3 / 0.6);
      const wanted = Math.min(mostMps2, Math.max(-mostMps2, 0.9 * (targetMps - state.speedMps)));
      // A gentle foot: the wanted acceleration changes by at most 2.5 m/s3.
      accelerationMps2 += Math.min(0.0025, Math.max(-0.0025, wanted - accelerationMps2));
      const v = state.speedMps;
      const dragN = 0.5 * car.airDensityKgM3 * car.dragAreaM2 * v * Math.abs(v);
      const rollN = car.rollingResistance * car.massKg * STANDARD_GRAVITY_MPS2 * Math.sign(targetMps);
      const inertiaKg = car.massKg + car.axleInertiaKgM2 / car.rollingRadiusM ** 2;
      const nm =
        ((inertiaKg * accelerationMps2 + dragN + rollN) * car.rollingRadiusM) / (car.gearRatio * car.gearEfficiency) +
        waverNm * Math.min(1, Math.abs(v) / 5);
      const along = nm * Math.sign(targetMps);
      if (along >= 0) {
        controls.torqueNm = nm;
        controls.pedalPercent = (100 * Math.abs(nm)) / model.availableNm();
        return;
      }
      const regenNm = Math.min(-along, car.maxRegenNm * Math.min(1, Math.abs(v) / REGEN_FADES_BELOW_MPS));
      controls.torqueNm = -regenNm * Math.sign(targetMps);
      const restN = ((-along - regenNm) * car.gearRatio) / car.rollingRadiusM;
      controls.frontBrakeN = restN * FRONT_BRAKE_SHARE;
      controls.rearBrakeN = restN * (1 - FRONT_BRAKE_SHARE);
    },
    press(pedalPercent) {
      release();
      controls.pedalPercent = pedalPercent;
      controls.torqueNm = (pedalPercent / 100) * model.availableNm();
    },
    brake(decelerationMps2) {
      release();
      accelerationMps2 = 0;
      const v = state.speedMps;
      const frontN = car.massKg * decelerationMps2 * FRONT_BRAKE_SHARE;
      const rearN = car.massKg * decelerationMps2 - frontN;
      // The motor takes as much as it can of the rear axle's braking, fading out towards standstill.
      const regenNm =
        v > 0.3
          ? Math.min((rearN * car.rollingRadiusM) / car.gearRatio, car.maxRegenNm * Math.min(0.7, v / (3 * REGEN_FADES_BELOW_MPS)))
          : 0;
      controls.torqueNm = -regenNm;
      controls.frontBrakeN = frontN;
      controls.rearBrakeN = v === 0 ? HOLD_N : rearN - (regenNm * car.gearRatio) / car.rollingRadiusM;
    },
    stand() {
      release();
      accelerationMps2 = 0;
      controls.frontBrakeN = HOLD_N;
      controls.rearBrakeN = HOLD_N;
    },
  };
}
