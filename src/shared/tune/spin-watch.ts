/**
 * The three ways in which a control can notice spin, replayed over a recording as the control would have seen it: only from data that had
 * arrived by then. A way whose source is not mapped gives a sentence instead.
 */
import { LEAST_RATIO_MPS } from "../align/slip.ts";
import type { AlignedRecording, TimedColumn } from "../align/aligned-recording.ts";
import type { Calibration } from "../align/calibration.ts";

export const NOTICE_WAYS = ["acceleration", "wheels", "receiver"] as const;
export type NoticeWay = (typeof NOTICE_WAYS)[number];

export interface WatchedDrive {
  readonly recording: AlignedRecording;
  readonly calibration: Calibration;
  readonly gearRatio: number;
}

/**
 * The value that is compared with the threshold at each look: m/s2 for wheel acceleration, slip ratio for the others; NaN while unknown.
 */
export interface SpinWatch {
  readonly tS: Float64Array;
  readonly value: Float64Array;
}

const STALE_S = 0.3;
/** Long enough for receivers of 1 Hz. */
const STALE_EPOCH_S = 1.5;

/** Index of the last frame at or before a time; moves forward as times rise. */
function follower(tS: ArrayLike<number>): (t: number) => number {
  let i = -1;
  return (t) => {
    while (i + 1 < tS.length && (tS[i + 1] as number) <= t) i += 1;
    return i;
  };
}

/** Looks from the first frame on; a sentence where the way has no source. */
export function spinWatch(drive: WatchedDrive, way: NoticeWay, everyS: number): SpinWatch | string {
  const { recording, calibration } = drive;
  const motor = recording.roles.motorSpeed;
  if (motor === undefined || motor.tS.length < 2) return "The driven wheels' speed is not mapped: nothing tells that they spin.";
  const perRadps = calibration.rollingRadiusM.value / drive.gearRatio;
  const from = motor.tS[0];
  const looks = Math.max(1, Math.floor((motor.tS[motor.tS.length - 1] - from) / everyS));
  const tS = Float64Array.from({ length: looks }, (_, k) => from + (k + 1) * everyS);
  if (way === "acceleration") return { tS, value: wheelAcceleration(motor, perRadps, tS, everyS) };
  const ground = way === "wheels" ? undrivenSpeed(drive) : receiverSpeed(drive);
  if (typeof ground === "string") return ground;
  const wheelAt = follower(motor.tS);
  return {
    tS,
    value: tS.map((t) => {
      const i = wheelAt(t);
      const v = ground(t);
      if (i < 0 || t - motor.tS[i] > STALE_S) return Number.NaN;
      return (motor.value[i] * perRadps - v) / Math.max(v, LEAST_RATIO_MPS);
    }),
  };
}

/** From two frames: the newest one, and one about a look earlier. */
function wheelAcceleration({ tS: at, value }: TimedColumn, perRadps: number, tS: Float64Array, everyS: number): Float64Array {
  const newest = follower(at);
  const older = follower(at);
  return tS.map((t) => {
    const i = newest(t);
    if (i < 1 || t - at[i] > STALE_S) return Number.NaN;
    const k = Math.min(i - 1, Math.max(0, older(at[i] - everyS + 1e-9)));
    const span = at[i] - at[k];
    return span > 0 && span < everyS + STALE_S ? ((value[i] - value[k]) * perRadps) / span : Number.NaN;
  });
}

/** Mean of the undriven wheels' last frames; a sensor's 0 below its threshold is not a speed. */
function undrivenSpeed({ recording, calibration }: WatchedDrive): ((t: number) => number) | string {
  const columns = recording.roles.undrivenWheelSpeeds ?? [];
  const scales = calibration.undrivenScales;
  const wheels = columns.flatMap((column, k) =>
    scales[k] === undefined ? [] : [{ column, scale: scales[k].value, at: follower(column.tS) }],
  );
  if (wheels.length === 0) return "No undriven wheel is mapped: driven wheels cannot be held against them.";
  return (t) => {
    let sum = 0;
    for (const { column, scale, at } of wheels) {
      const i = at(t);
      if (i < 0 || t - column.tS[i] > STALE_S || column.value[i] === 0) return Number.NaN;
      sum += column.value[i] * scale;
    }
    return sum / wheels.length;
  };
}

/** The last epoch that had arrived: the car's speed one delay and up to one period ago. */
function receiverSpeed({ recording: { epochs } }: WatchedDrive): ((t: number) => number) | string {
  if (epochs.tS.length === 0) return "No receiver was heard: its ground speed tells nothing.";
  // An epoch's time on the base belongs to its first byte; its speed was true earlier, by the receiver's delay.
  const at = follower(epochs.tS);
  return (t) => {
    const i = at(t);
    return i < 0 || t - epochs.tS[i] > STALE_EPOCH_S ? Number.NaN : epochs.speedMps[i];
  };
}

/**
 * Whether the driven wheels turned faster than the receiver's ground speed around a time, judged afterwards: epochs at the instants they
 * describe, joined by straight lines. Unknown counts as no.
 */
export function ranAhead({ recording, calibration, gearRatio }: WatchedDrive, share: number): (t: number) => boolean {
  const { epochs, roles } = recording;
  const motor = roles.motorSpeed;
  if (motor === undefined || epochs.tS.length < 2) return () => false;
  const perRadps = calibration.rollingRadiusM.value / gearRatio;
  const delayS = calibration.gnssDelayS.value;
  const epochAt = follower(epochs.tS);
  const wheelAt = follower(motor.tS);
  return (t) => {
    const i = epochAt(t + delayS);
    const [a, b] = [epochs.tS[i] ?? Number.NaN, epochs.tS[i + 1] ?? Number.NaN];
    const wheel = (motor.value[wheelAt(t)] ?? Number.NaN) * perRadps;
    const ground = epochs.speedMps[i] + ((t + delayS - a) / (b - a)) * (epochs.speedMps[i + 1] - epochs.speedMps[i]);
    return b - a < STALE_EPOCH_S && wheel - ground > share * Math.max(ground, LEAST_RATIO_MPS);
  };
}
