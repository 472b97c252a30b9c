/**
 * Longitudinal model of a car with one driven (rear) axle, in steps of 1 ms with finer substeps. Numbers stay finite; standing is exactly
 * 0.
 */
import { STANDARD_GRAVITY_MPS2 } from "../kernel/units.ts";
import type { CarParameters } from "./car-parameters.ts";
import type { Controls } from "./controls.ts";
import { type ControlSetting, createTractionControl } from "./traction-control.ts";
import { frictionAt, TYRE_CURVES, type Surface } from "./tyre-curve.ts";

/** SI units. Speeds and distance are signed along the car; `eastM`/`northM` from the runway's origin. */
export interface CarState {
  speedMps: number;
  /** Driven axle: mean of both wheels. */
  axleRadps: number;
  distanceM: number;
  accelerationMps2: number;
  headingRad: number;
  eastM: number;
  northM: number;
  altitudeM: number;
  requestNm: number;
  commandNm: number;
  /** True torque at the motor shaft. */
  deliveredNm: number;
  availableNm: number;
  tractionControlActive: boolean;
  batteryJ: number;
  batteryW: number;
  motorDegC: number;
  inverterDegC: number;
  batteryDegC: number;
  tyreDegC: number;
  /** Force of the driven tyres on the road, and the energy that became heat in them. */
  tyreForceN: number;
  tyreHeatJ: number;
  dissipatedJ: number;
  shaftWorkJ: number;
}

export interface CarModel {
  readonly state: CarState;
  /** Grip of the road from now on, 1 as the tyre curve has it; stays until changed. A patch lies under the driven wheels only. */
  setRoad(surface: Surface, grip: number, patch?: boolean): void;
  /** The setting of its control from now on; it does not intervene at first. */
  setControl(setting: ControlSetting): void;
  step(controls: Controls): void;
  /** Torque that the motor can give at its present speed, Nm. */
  availableNm(): number;
}

const AMBIENT_DEG_C = 17;
const SUBSTEPS = 4;
const DT_S = 1e-3 / SUBSTEPS;
// Below this speed, slip speed is divided by this speed: a tyre needs some distance to build up its force. Keeps the substep stable.
const LEAST_SLIP_BASE_MPS = 2.5;
// The endless car is charged without notice here; only about six hours of launches reach this.
const EMPTY_SHARE = 0.08;
const CHARGED_SHARE = 0.93;
const PITCH_LAG_S = 0.06;

/** Value after one substep with a driving force and a friction that can stop it but never reverse it. */
function withFriction(value: number, drive: number, hold: number, inertia: number): number {
  if (value === 0) {
    if (Math.abs(drive) <= hold) return 0;
    return ((drive - Math.sign(drive) * hold) / inertia) * DT_S;
  }
  const next = value + ((drive - Math.sign(value) * hold) / inertia) * DT_S;
  return next * value < 0 && Math.abs(drive) <= hold ? 0 : next;
}

function standingCar(car: CarParameters, headingRad: number, charge: number): CarState {
  return {
    speedMps: 0,
    axleRadps: 0,
    distanceM: 0,
    accelerationMps2: 0,
    headingRad,
    eastM: 0,
    northM: 0,
    altitudeM: 0,
    requestNm: 0,
    commandNm: 0,
    deliveredNm: 0,
    availableNm: car.maxTorqueNm,
    tractionControlActive: false,
    batteryJ: car.batteryJ * charge,
    batteryW: 0,
    motorDegC: 31,
    inverterDegC: 27,
    batteryDegC: 21,
    tyreDegC: AMBIENT_DEG_C + 3,
    tyreForceN: 0,
    tyreHeatJ: 0,
    dissipatedJ: 0,
    shaftWorkJ: 0,
  };
}

/** Car standing at the runway's origin, heading `headingRad` (clockwise from north), battery at `charge` (0 to 1). */
export function createCarModel(car: CarParameters, headingRad: number, charge: number): CarModel {
  let control = createTractionControl();
  let surface: Surface = "dry";
  let roadGrip = 1;
  let frontGrip = 1;
  let pitchMps2 = 0;
  const runwayRad = headingRad;
  const s = standingCar(car, headingRad, charge);
  const availableNm = () => Math.min(car.maxTorqueNm, car.maxPowerW / Math.max(1, Math.abs(s.axleRadps * car.gearRatio)));
  // Cold and overheated tyres grip less; 3 % at 40 K off the best.
  const tyreGrip = () => 1 - 0.03 * ((s.tyreDegC - 60) / 40) ** 2;

  function drive(controls: Controls): void {
    s.availableNm = availableNm();
    s.requestNm = Math.min(s.availableNm, Math.max(-car.maxTorqueNm, controls.torqueNm));
    const slipMps = s.axleRadps * car.rollingRadiusM - s.speedMps;
    s.commandNm = control.step(s.requestNm, slipMps, Math.abs(s.speedMps), controls.tractionControl);
    s.tractionControlActive = control.active();
    const wanted = s.deliveredNm + (s.commandNm - s.deliveredNm) * (1 - Math.exp(-1e-3 / car.torqueLagS));
    const most = car.torqueSlewNmPerS * 1e-3;
    s.deliveredNm += Math.min(most, Math.max(-most, wanted - s.deliveredNm));
    if (Math.abs(s.deliveredNm) < 1e-3 && s.commandNm === 0) s.deliveredNm = 0;
  }

  function roll(controls: Controls): void {
    const weightN = car.massKg * STANDARD_GRAVITY_MPS2;
    const curve = TYRE_CURVES[surface];
    const grip = roadGrip * tyreGrip();
    const radius = car.rollingRadiusM;
    const efficiency = s.deliveredNm * s.axleRadps >= 0 ? car.gearEfficiency : 1 / car.gearEfficiency;
    const axleNm = s.deliveredNm * car.gearRatio * efficiency;
    const slopeN = weightN * car.slope * Math.cos(s.headingRad - runwayRad);
    for (let i = 0; i < SUBSTEPS; i += 1) {
      pitchMps2 += ((s.accelerationMps2 - pitchMps2) * DT_S) / PITCH_LAG_S;
      const transferN = (car.massKg * pitchMps2 * car.cgHeightM) / car.wheelbaseM;
      const rearN = Math.max(0, weightN * car.rearWeightShare + transferN);
      const frontN = Math.max(0, weightN - rearN);
      const slipMps = s.axleRadps * radius - s.speedMps;
      const forceN = grip * rearN * frictionAt(curve, slipMps / Math.max(Math.abs(s.speedMps), LEAST_SLIP_BASE_MPS));
      s.tyreForceN = forceN;
      const rearHoldNm = controls.rearBrakeN * radius;
      s.axleRadps = withFriction(s.axleRadps, axleNm - forceN * radius, rearHoldNm, car.axleInertiaKgM2);
      // All rolling resistance acts on the body: slip 0 is the freely rolling wheel, as ISO 8855 defines its radius.
      const bodyHoldN = Math.min(controls.frontBrakeN, frontGrip * frontN) + car.rollingResistance * weightN;
      const dragN = 0.5 * car.airDensityKgM3 * car.dragAreaM2 * s.speedMps * Math.abs(s.speedMps);
      const before = s.speedMps;
      s.speedMps = withFriction(before, forceN - dragN - slopeN + controls.pushN, bodyHoldN, car.massKg);
      s.accelerationMps2 = (s.speedMps - before) / DT_S;
      s.distanceM += 0.5 * (before + s.speedMps) * DT_S;
      s.tyreHeatJ += forceN * slipMps * DT_S;
      s.dissipatedJ +=
        (rearHoldNm * Math.abs(s.axleRadps) + bodyHoldN * Math.abs(s.speedMps) + dragN * s.speedMps + slopeN * s.speedMps) * DT_S;
      s.shaftWorkJ += axleNm * s.axleRadps * DT_S;
    }
  }

  function warm(): void {
    const dt = 1e-3;
    const shaftW = s.deliveredNm * s.axleRadps * car.gearRatio;
    const lossW = 450 + 0.055 * s.deliveredNm * s.deliveredNm * 0.9 + 0.02 * Math.abs(shaftW);
    s.batteryW = shaftW + lossW;
    s.batteryJ -= s.batteryW * dt;
    if (s.batteryJ < EMPTY_SHARE * car.batteryJ) s.batteryJ = CHARGED_SHARE * car.batteryJ;
    s.motorDegC += (lossW / 42e3 - (s.motorDegC - 25) / 1400) * dt;
    s.inverterDegC += (lossW / 60e3 - (s.inverterDegC - 22) / 500) * dt;
    s.batteryDegC += (Math.abs(s.batteryW) / 9e6 - (s.batteryDegC - AMBIENT_DEG_C) / 20e3) * dt;
    const slipW = Math.abs(s.tyreForceN * (s.axleRadps * car.rollingRadiusM - s.speedMps));
    s.tyreDegC += (slipW / 32e3 + Math.abs(s.speedMps) / 450 - (s.tyreDegC - AMBIENT_DEG_C) / 500) * dt;
  }

  return {
    state: s,
    availableNm,
    setRoad(nextSurface, grip, patch = false) {
      surface = nextSurface;
      roadGrip = grip;
      frontGrip = patch ? TYRE_CURVES.dry.d : grip * TYRE_CURVES[nextSurface].d;
    },
    setControl(setting) {
      control = createTractionControl(setting);
    },
    step(controls) {
      drive(controls);
      const still = s.speedMps === 0 && s.axleRadps === 0 && s.deliveredNm === 0 && controls.pushN === 0;
      if (still && Math.abs(pitchMps2) < 1e-3) {
        s.accelerationMps2 = 0;
        pitchMps2 = 0;
      } else roll(controls);
      const stepM = s.speedMps * 1e-3;
      s.headingRad += controls.yawRateRadps * 1e-3;
      s.eastM += stepM * Math.sin(s.headingRad);
      s.northM += stepM * Math.cos(s.headingRad);
      s.altitudeM += stepM * car.slope * Math.cos(s.headingRad - runwayRad);
      warm();
    },
  };
}
