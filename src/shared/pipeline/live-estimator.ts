/**
 * The slow half of a live session: keeps the last minutes and answers what takes tens of milliseconds or more. It reads the same packets as the
 * quick half, so that it may run in a thread of its own and never keeps a byte or a frame waiting. Too little data gives an empty answer.
 */
import { alignRecording } from "../align/align-recording.ts";
import { calibrate } from "../align/calibrate.ts";
import type { Calibration } from "../align/calibration.ts";
import { nominalCalibration } from "../align/nominal-calibration.ts";
import { NS_PER_S } from "../kernel/units.ts";
import { estimateRun } from "../run/estimate-run.ts";
import { findLaunches } from "../launch/find-launches.ts";
import type { Gate } from "../launch/gate.ts";
import { settleGates } from "../launch/live-estimate.ts";
import type { Mark } from "../launch/mark.ts";
import type { GateResult } from "../launch/gate-result.ts";
import type { DerivedRun } from "../run/run.ts";
import type { SetUp } from "../setup/set-up.ts";
import type { DbcFile } from "../dbc/dbc-model.ts";
import { type BeforeCheck, type BeforeInput, beforeDriving, type RecentDrive } from "./before-driving.ts";
import { createDecodeStream } from "./decode-stream.ts";
import { launchName } from "./derive-recording.ts";
import type { CanFormat, Packet } from "./packet.ts";
import { sliceTracks } from "./slice-tracks.ts";

/** Kept for calibration and runs; a minute of launch and its return fit well inside. */
const KEEP_S = 240;
const TRIM_EVERY_S = 10;
const LOOK_S = 120;
/** Aligning two minutes takes some tens of milliseconds. */
const LOOK_AGAIN_S = 5;
/** Standing is asked for 1 s, so this much before the causal start the car surely stood. */
const SURELY_RESTING_S = 0.5;
/** Standing before the start tells the receiver's noise at rest. */
const BEFORE_START_S = 5;
/** At the gentlest launch that counts, 2.5 m/s2, 10 km/h is reached by then. */
const SURELY_MOVING_S = 1.1;

/** Plain data: it crosses to a thread. */
export interface EstimatorOptions {
  readonly setUp: SetUp;
  readonly databases: readonly DbcFile[];
  readonly canFormat: CanFormat;
  /** The newest one of this car, or null to start from the set-up. */
  readonly calibration: Calibration | null;
  readonly gates: readonly Gate[];
}

/** Questions of one argument and their answers, both plain data. */
export interface EstimatorWork {
  /** The gates passed so far in the launch that began there, settled as far as the data reaches. */
  settle(asked: { readonly movementS: number }): readonly GateResult[];
  /** Provisional runs that became complete since the last call. */
  runs(asked: { readonly marks: readonly Mark[] }): readonly DerivedRun[];
  /** A calibration better than the one in force, which it replaces; null where the last minutes give none. */
  calibrate(asked: null): Calibration | null;
  /** The list before driving. `look` false: the drive as it was last looked at. */
  before(asked: { readonly seen: Omit<BeforeInput, "drive">; readonly look: boolean }): readonly BeforeCheck[];
}

export interface LiveEstimator extends EstimatorWork {
  push(packet: Packet): void;
  /** A port was opened again. */
  reopen(stream: Packet["stream"]): void;
}

/** Throws RoleError where the set-up's signals cannot hold. */
export function createLiveEstimator({ setUp, databases, canFormat, calibration: given, gates }: EstimatorOptions): LiveEstimator {
  const stream = createDecodeStream({ setUp, databases, canFormat });
  let calibration = given ?? nominalCalibration(setUp);
  let newestNs = 0;
  let trimmedS = 0;
  let runsTakenToS = Number.NEGATIVE_INFINITY;
  let drive: RecentDrive | null = null;
  let lookedS = Number.NEGATIVE_INFINITY;

  const aligned = (fromS: number) => alignRecording(sliceTracks(stream.tracks(newestNs, []), fromS * NS_PER_S), setUp);

  return {
    push(packet) {
      newestNs = packet.arrivalNs;
      stream.push(packet);
      const nowS = newestNs / NS_PER_S;
      if (nowS - trimmedS < TRIM_EVERY_S) return;
      trimmedS = nowS;
      stream.dropBefore((nowS - KEEP_S) * NS_PER_S);
    },
    reopen: stream.reopen,
    settle({ movementS }) {
      const restS = movementS - SURELY_RESTING_S;
      const movingS = movementS + SURELY_MOVING_S;
      return settleGates({ recording: aligned(restS - BEFORE_START_S), calibration, setUp, gates, restS, movingS });
    },
    runs({ marks }) {
      const recording = aligned(Math.max(runsTakenToS, newestNs / NS_PER_S - KEEP_S));
      const fresh = findLaunches(recording, calibration, setUp, marks, gates).filter((window) => window.restS > runsTakenToS);
      runsTakenToS = Math.max(runsTakenToS, ...fresh.map((window) => window.endS));
      return fresh.map((window) => estimateRun({ recording, calibration, setUp, window, gates, uid: launchName(recording, window) }));
    },
    calibrate() {
      const fresh = calibrate(aligned(newestNs / NS_PER_S - KEEP_S), setUp, calibration);
      // Without motor speed a drive tells delay and scales alone: the radius never becomes calibrated then.
      const judged =
        fresh.rollingRadiusM.from === "calibrated" || calibration.rollingRadiusM.from === "calibrated" ? "rollingRadiusM" : "gnssDelayS";
      const better = fresh[judged].from === "calibrated" && fresh[judged].plusMinus95 <= calibration[judged].plusMinus95;
      if (!better) return null;
      calibration = fresh;
      return fresh;
    },
    before({ seen, look }) {
      const nowS = newestNs / NS_PER_S;
      if (look && nowS - lookedS >= LOOK_AGAIN_S) {
        lookedS = nowS;
        drive = { recording: aligned(nowS - LOOK_S), calibration, fittedHere: calibration !== given && calibration.usedS > 0 };
      }
      return beforeDriving({ ...seen, drive });
    },
  };
}

/** Where the slow half is asked: at once in this thread, or in another. */
export interface Estimates {
  push(packet: Packet): void;
  reopen(stream: Packet["stream"]): void;
  /** Answers come in the order of the questions; null where one could not be answered, and whoever made this has told why. */
  ask<K extends keyof EstimatorWork>(
    name: K,
    argument: Parameters<EstimatorWork[K]>[0],
    then: (answer: ReturnType<EstimatorWork[K]> | null) => void,
  ): void;
  close(): void;
}

/** Answers before `ask` returns; what the estimator throws comes through. */
export function estimatesInline(options: EstimatorOptions): Estimates {
  const estimator = createLiveEstimator(options);
  return {
    push: estimator.push,
    reopen: estimator.reopen,
    ask(name, argument, then) {
      then(answerOf(estimator, name, argument));
    },
    close: () => undefined,
  };
}

/** One question put to the estimator. */
export function answerOf<K extends keyof EstimatorWork>(
  estimator: EstimatorWork,
  name: K,
  argument: Parameters<EstimatorWork[K]>[0],
): ReturnType<EstimatorWork[K]> {
  return (estimator[name] as (asked: typeof argument) => ReturnType<EstimatorWork[K]>)(argument);
}
