/**
 * The day's plan: what is driven, by which receiver and adapter it is seen. A plan read from a file is checked whole; what is wrong is thrown
 * as one RangeError naming the place. Every key may be left out (defaults below). Example:
 *   { "receiver": { "rateHz": 10, "delayS": 0.06 }, "bus": { "driftPpm": 40 }, "control": { "slip": 0.03, "lateS": 0.04 },
 *     "segments": [ { "kind": "gentle", "seconds": 60 },
 *                   { "kind": "launch", "label": "traction control off", "tractionControl": false, "surface": "wet", "toKmh": 110 },
 *                   { "kind": "launch", "label": "11 %", "control": { "slip": 0.11 } },
 *                   { "kind": "decoy", "what": "push" }, { "kind": "turn" }, { "kind": "drive", "metres": 400, "kmh": 50 }, { "kind": "stand", "seconds": 5 } ] }
 */
import type { Stall } from "./host-clock.ts";
import type { ControlSetting } from "./traction-control.ts";
import type { Surface } from "./tyre-curve.ts";

export interface ReceiverPlan {
  /** Epochs a second, 1 to 25. */
  readonly rateHz: number;
  /** Standard deviations of the white and the correlated speed noise of one component, m/s, and the correlation time, s. */
  readonly whiteMps: number;
  readonly correlatedMps: number;
  readonly correlationS: number;
  /** Least true time from having a speed to the arrival of its first byte, s. */
  readonly delayS: number;
  /** Mean of the exponential arrival delay on top of it, s. */
  readonly jitterS: number;
  /** What a standing receiver reports: the length of its noise, or 0. */
  readonly atRest: "noisy" | "held";
  /** Bits per second of a true UART; 0 for native USB (an epoch arrives at once). */
  readonly baud: number;
  readonly gsa: boolean;
  readonly zda: boolean;
  /** Spans without a fix, seconds since the day's start. */
  readonly lostFix: readonly Stall[];
}

export interface BusPlan {
  /** Adapter clock against true time, parts per million. */
  readonly driftPpm: number;
  /** Millisecond stamps on the adapter's lines. */
  readonly stamps: boolean;
  /** Longest time between two deliveries of the adapter, s; 0.016 gives bursts. */
  readonly burstS: number;
  /** Longest wait of a frame for the bus, s. */
  readonly jitterS: number;
  readonly frontWheelSensors: boolean;
  readonly rearWheelSensors: boolean;
  /** When the adapter loses its supply for a moment, true seconds since the start. */
  readonly restartsAtS: readonly number[];
  /** Wheel sensors read 0 below this, km/h. */
  readonly thresholdKmh: number;
}

export type DecoyName = "falseStart" | "creep" | "push" | "reverse" | "spin" | "driveBack";

export type Segment =
  | { readonly kind: "gentle"; readonly seconds: number }
  | LaunchSegment
  | { readonly kind: "decoy"; readonly what: DecoyName }
  | { readonly kind: "drive"; readonly metres: number; readonly kmh: number }
  | { readonly kind: "turn" }
  | { readonly kind: "stand"; readonly seconds: number };

export interface LaunchSegment {
  readonly kind: "launch";
  readonly label: string;
  readonly tractionControl: boolean;
  readonly surface: Surface;
  /** Seconds from touching the pedal to its final position. */
  readonly rampS: number;
  /** Motor torque held against the brakes before they are released, Nm; 0 for none. */
  readonly staticHoldNm: number;
  readonly pedalPercent: number;
  /** True: the driver eases the pedal when the wheels spin. */
  readonly eases: boolean;
  readonly standS: number;
  /** The driver lifts at this speed. */
  readonly toKmh: number;
  /** Factor on the road's grip for this launch; 0 draws one (1 with a little scatter). */
  readonly grip: number;
  /** Changes of the day's control setting for this launch. */
  readonly control: Partial<ControlSetting>;
}

/** Figures of the car that are given instead of drawn. */
interface CarPlan {
  readonly rollingRadiusM?: number;
  /** Slope along the first launch direction, as a fraction. */
  readonly slope?: number;
  /** Reported over true torque. */
  readonly torqueReportScale?: number;
}

export interface DayPlan {
  /** The host's wall clock at the day's start, whole seconds since 1970. */
  readonly startUnixS: number;
  /** Receiver's UTC minus the host's wall clock, s. */
  readonly wallOffsetS: number;
  /** Host clock against true time, parts per million. */
  readonly hostPpm: number;
  readonly charge: number;
  /** Spans in which the laptop reads neither port. */
  readonly stalls: readonly Stall[];
  readonly car: CarPlan;
  /** The setting of the car's control on that day. */
  readonly control: ControlSetting;
  readonly receiver: ReceiverPlan;
  readonly bus: BusPlan;
  readonly segments: readonly Segment[];
}

export const DEFAULT_RECEIVER: ReceiverPlan = {
  rateHz: 10,
  whiteMps: 0.025,
  correlatedMps: 0.017,
  correlationS: 0.8,
  delayS: 0.062,
  jitterS: 0.0015,
  atRest: "noisy",
  baud: 115200,
  gsa: true,
  zda: true,
  lostFix: [],
};
export const DEFAULT_BUS: BusPlan = {
  driftPpm: 24,
  stamps: true,
  burstS: 0.001,
  restartsAtS: [],
  jitterS: 0.0004,
  frontWheelSensors: true,
  rearWheelSensors: true,
  thresholdKmh: 2.5,
};
export const DEFAULT_LAUNCH: LaunchSegment = {
  kind: "launch",
  label: "traction control on",
  tractionControl: true,
  surface: "dry",
  rampS: 0.2,
  staticHoldNm: 0,
  pedalPercent: 100,
  eases: true,
  standS: 6,
  toKmh: 163,
  grip: 0,
  control: {},
};
/** 2031-05-04T10:00:00Z. */
export const DEFAULT_START_UNIX_S = 1935655200;
