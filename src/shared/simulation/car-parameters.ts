/** The true figures of the simulated car (Odrel): each seed gives another car. Never fails. */
import type { Random } from "./random.ts";

/** SI units; angles and speeds of the driven axle at the wheel. Plausible values of our own, no source. */
export interface CarParameters {
  massKg: number;
  wheelbaseM: number;
  cgHeightM: number;
  rearWeightShare: number;
  trackM: number;
  /** Rolling radius of the driven tyres at zero driving force. */
  rollingRadiusM: number;
  gearRatio: number;
  /** Share of shaft power that reaches the axle. */
  gearEfficiency: number;
  /** Driven wheels, brakes and shafts plus the rotor seen through the gear. */
  axleInertiaKgM2: number;
  dragAreaM2: number;
  airDensityKgM3: number;
  rollingResistance: number;
  maxTorqueNm: number;
  maxPowerW: number;
  maxRegenNm: number;
  /** Fastest change of motor torque, Nm/s. */
  torqueSlewNmPerS: number;
  /** First-order lag of the motor behind its command, s. */
  torqueLagS: number;
  /** Reported torque over true torque: the error of the inverter's own estimate. */
  torqueReportScale: number;
  /** Reading over true speed of each wheel sensor: front left, front right, rear left, rear right. */
  wheelSensorScale: readonly [number, number, number, number];
  /** Slope along the first launch direction, as a fraction. */
  slope: number;
  batteryJ: number;
}

/** The car of one seed: radius, sensors, reported torque and slope differ from the set-up as they do in a real car. */
export function drawCar(random: Random): CarParameters {
  const scale = (sigma: number) => 1 + sigma * random.normal();
  return {
    massKg: 1480,
    wheelbaseM: 2.45,
    cgHeightM: 0.5,
    rearWeightShare: 0.556,
    trackM: 1.54,
    rollingRadiusM: 0.324 * scale(0.003),
    gearRatio: 9.04,
    gearEfficiency: 0.975,
    axleInertiaKgM2: 5.9,
    dragAreaM2: 0.62,
    airDensityKgM3: 1.2,
    rollingResistance: 0.0115,
    maxTorqueNm: 420,
    maxPowerW: 255e3,
    maxRegenNm: 110,
    torqueSlewNmPerS: 6000,
    torqueLagS: 0.008,
    torqueReportScale: scale(0.008),
    wheelSensorScale: [scale(0.003), scale(0.003), scale(0.003), scale(0.003)],
    slope: 0.0012 * random.between(-1, 1),
    batteryJ: 52 * 3.6e6,
  };
}
