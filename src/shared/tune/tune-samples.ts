/**
 * Driving as columns on one grid of 10 ms, named by their meaning: every figure of this folder is calculated from these. Unknown is NaN; a
 * role that is not mapped is null.
 */
import type { RunSamples } from "../run/run.ts";
import type { SingleRole } from "../setup/roles.ts";

/** Rows are this far apart, s. */
export const ROW_S = 0.01;

export interface TuneSamples {
  /** Time on the recording's base, s. */
  readonly tS: Float64Array;
  readonly groundSpeedMps: Float64Array;
  readonly groundSigmaMps: Float64Array;
  readonly accelerationMps2: Float64Array;
  readonly distanceM: Float64Array;
  /** Speed of the driven axle from motor speed, times the rolling radius. */
  readonly wheelSpeedMps: Float64Array;
  readonly slipSpeedMps: Float64Array;
  /** NaN below 10 km/h. */
  readonly slipRatio: Float64Array;
  readonly slipSigma: Float64Array;
  /** Torque at the motor shaft, driving positive; bus values are held from the last frame. */
  readonly askedNm: Float64Array | null;
  readonly commandNm: Float64Array | null;
  readonly deliveredNm: Float64Array | null;
  readonly pedalPercent: Float64Array | null;
  readonly motorRadps: Float64Array | null;
  readonly controlActive: Float64Array | null;
  readonly brake: Float64Array | null;
  /**
   * Undriven wheels as mapped, in the units of their roles (the calibration's `undrivenScales` convert to m/s); empty where there are none.
   */
  readonly undriven: readonly Float64Array[];
}

const ROLES: ReadonlySet<string> = new Set<SingleRole>([
  "torqueRequest",
  "torqueCommand",
  "torqueDelivered",
  "pedal",
  "motorSpeed",
  "tractionControlActive",
  "brake",
]);
const UNDRIVEN = "undrivenWheelSpeeds.";

/** Whether `tuneSamples` uses the role. */
export const isTuneRole = (role: string): boolean => ROLES.has(role) || role.startsWith(UNDRIVEN);

/** A stored run's samples under these names, without copying. */
export function tuneSamples(samples: RunSamples): TuneSamples {
  const { roles } = samples;
  const undriven = Object.keys(roles)
    .filter((name) => name.startsWith(UNDRIVEN))
    .sort()
    .map((name) => roles[name] as Float64Array);
  return {
    tS: samples.tS,
    groundSpeedMps: samples.groundSpeedMps,
    groundSigmaMps: samples.groundSpeedSigmaMps,
    accelerationMps2: samples.accelerationMps2,
    distanceM: samples.distanceM,
    wheelSpeedMps: samples.wheelSpeedMps,
    slipSpeedMps: samples.slipSpeedMps,
    slipRatio: samples.slipRatio,
    slipSigma: samples.slipSigma,
    askedNm: roles.torqueRequest ?? null,
    commandNm: roles.torqueCommand ?? null,
    deliveredNm: roles.torqueDelivered ?? null,
    pedalPercent: roles.pedal ?? null,
    motorRadps: roles.motorSpeed ?? null,
    controlActive: roles.tractionControlActive ?? null,
    brake: roles.brake ?? null,
    undriven,
  };
}
