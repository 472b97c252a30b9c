/** The calibration of a car and its receiver: each figure with its uncertainty. A stored, numbered row of the book. */

type ValueSource = "calibrated" | "set-up" | "unknown";

/** A figure with the half width of its 95 % interval. */
export interface Figure {
  /** NaN while nothing is known, null in JSON. @nullable */
  readonly value: number;
  /** The same. @nullable */
  readonly plusMinus95: number;
  readonly from: ValueSource;
  /** Why it is not calibrated, one sentence; absent where it is. */
  readonly why?: string;
}

export interface WheelScale extends Figure {
  /** "Message.Signal". */
  readonly name: string;
}

/** Receiver speed noise measured in the recording: AR(1) plus white. */
export interface ReceiverNoise {
  /** Standard deviation of the noise that is correlated from epoch to epoch, m/s. */
  readonly correlatedMps: number;
  /** Its correlation time, s; 0 where none was found. */
  readonly correlationS: number;
  /** Standard deviation of the white part, quantisation included, m/s. */
  readonly whiteMps: number;
}

export interface Calibration {
  /** Metres per radian of the driven wheel at zero driving force. */
  readonly rollingRadiusM: Figure;
  /** Least time from the car having a speed to the first byte of that speed's epoch, on the time base of the bus frames. */
  readonly gnssDelayS: Figure;
  /** Slip ratio per Nm of motor torque, driving. */
  readonly slipPerNm: Figure;
  /** Metres per second of ground speed per unit of each undriven sensor, in mapped order. */
  readonly undrivenScales: readonly WheelScale[];
  /** The same for driven-wheel sensors, free rolling. */
  readonly drivenScales: readonly WheelScale[];
  /** Undriven sensors read 0 or nothing below this, m/s; 0 where none did. */
  readonly undrivenThresholdMps: number;
  readonly receiverNoise: ReceiverNoise;
  /** Joint covariance (standard units squared) of [radius, delay, slipPerNm], row by row; null unless calibrated. */
  readonly covariance: readonly number[] | null;
  /** Seconds of gentle driving that were used. */
  readonly usedS: number;
  /** Why the fit was refused or is weak, in sentences; empty when good. */
  readonly notes: readonly string[];
}
