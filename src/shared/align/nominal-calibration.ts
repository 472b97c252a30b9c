/** The calibration of a car that has not been driven yet: from set-up or tyre marking, with wide intervals and notes that say so. */
import { STANDARD_GRAVITY_MPS2 } from "../kernel/units.ts";
import type { SetUp } from "../setup/set-up.ts";
import { isSerial } from "../setup/source-name.ts";
import { nominalRollingRadiusM, parseTyreSize } from "../setup/tyre-size.ts";
import type { Calibration, Figure, ReceiverNoise, WheelScale } from "./calibration.ts";

/** Normalised longitudinal slip stiffness (force over load per slip) of road tyres: 10 to 30, from memory. */
const TYPICAL_STIFFNESS = 18;
const STIFFNESS_SPREAD_95 = 0.8;
const UNKNOWN_DELAY_S = 0.1;
const UNKNOWN_DELAY_95_S = 0.1;
/** Over a network each epoch's path adds to the receiver's own delay; wireless ones add tenths of a second (common practice, no source). */
const UNKNOWN_NETWORK_DELAY_S = 0.2;
const UNKNOWN_NETWORK_DELAY_95_S = 0.3;
/** 95 % half width, as a share, of a rolling radius that a person entered; a tyre marking is less exact. */
const ENTERED_RADIUS_95 = 0.02;
const MARKED_RADIUS_95 = 0.035;
const SENSOR_SCALE_95 = 0.04;
const NOT_DRIVEN = "Not calibrated yet: no gentle driving was recorded.";
const TYPICAL_NOISE: ReceiverNoise = { correlatedMps: 0.03, correlationS: 1, whiteMps: 0.03 };

/** Units of mapped wheel sensors, in mapped order; m/s where not given. */
export interface SensorUnits {
  readonly undriven?: readonly string[];
  readonly driven?: readonly string[];
}

/** A calibration without data, to start from. Throws RangeError on a set-up with neither radius nor tyre. */
export function nominalCalibration(setUp: SetUp, units: SensorUnits = {}): Calibration {
  const rollingRadiusM = nominalRadius(setUp);
  const sensors = (choices: readonly { signal: string }[] | undefined, given: readonly string[] | undefined): WheelScale[] =>
    (choices ?? []).map((choice, i) => {
      const value = given?.[i] === "rad/s" ? rollingRadiusM.value : 1;
      return { name: choice.signal, value, plusMinus95: value * SENSOR_SCALE_95, from: "unknown" };
    });
  return {
    rollingRadiusM,
    gnssDelayS: nominalDelay(setUp),
    slipPerNm: nominalSlipPerNm(setUp, rollingRadiusM.value),
    undrivenScales: sensors(setUp.signals.undrivenWheelSpeeds, units.undriven),
    drivenScales: sensors(setUp.signals.drivenWheelSpeeds, units.driven),
    undrivenThresholdMps: 0,
    receiverNoise: TYPICAL_NOISE,
    covariance: null,
    usedS: 0,
    notes: ["Not calibrated yet: radius from the set-up, receiver delay unknown."],
  };
}

function nominalRadius(setUp: SetUp): Figure {
  const { rollingRadiusM, tyre } = setUp.car;
  if (rollingRadiusM !== undefined)
    return { value: rollingRadiusM, plusMinus95: rollingRadiusM * ENTERED_RADIUS_95, from: "set-up", why: NOT_DRIVEN };
  if (tyre === undefined)
    throw new RangeError('Expected car.tyre or car.rollingRadiusM in the set-up, got neither; add for example "tyre": "265/35R19"');
  const value = nominalRollingRadiusM(parseTyreSize(tyre));
  return { value, plusMinus95: value * MARKED_RADIUS_95, from: "set-up", why: NOT_DRIVEN };
}

function nominalDelay({ sources: { gnss } }: SetUp): Figure {
  return gnss === undefined || isSerial(gnss)
    ? { value: UNKNOWN_DELAY_S, plusMinus95: UNKNOWN_DELAY_95_S, from: "unknown", why: NOT_DRIVEN }
    : {
        value: UNKNOWN_NETWORK_DELAY_S,
        plusMinus95: UNKNOWN_NETWORK_DELAY_95_S,
        from: "unknown",
        why: `${NOT_DRIVEN} The receiver's data come over a network, which adds a delay of its own.`,
      };
}

function nominalSlipPerNm(setUp: SetUp, radiusM: number): Figure {
  const { massKg, gearRatio, drivenAxle, frontWeightShare = 0.5 } = setUp.car;
  const share = drivenAxle === "rear" ? 1 - frontWeightShare : frontWeightShare;
  const value = gearRatio / (radiusM * TYPICAL_STIFFNESS * massKg * STANDARD_GRAVITY_MPS2 * share);
  return { value, plusMinus95: value * STIFFNESS_SPREAD_95, from: "unknown", why: NOT_DRIVEN };
}
