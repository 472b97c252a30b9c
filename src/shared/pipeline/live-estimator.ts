/**
 * The slow half of a live session: keeps the last minutes and answers the questions that take tens of milliseconds or more. It reads the
 * same packets as the quick half, so it can run in a thread of its own and never delays a byte or a picture. Too little data gives an empty
 * answer.
 */
import type { AlignedRecording } from "../align/aligned-recording.ts";
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
import { type BeforeCheck, type BeforeInput, beforeDriving } from "./before-driving.ts";
import { createDecodeStream } from "./decode-stream.ts";
import { launchName } from "./derive-recording.ts";
import type { CanFormat, Packet } from "./packet.ts";
import { sliceTracks } from "./slice-tracks.ts";

/** Kept for calibration and runs; a minute with a launch and its return run fits well inside. */
const KEEP_S = 240;
const TRIM_EVERY_S = 10;
const LOOK_S = 120;
/** Aligning two minutes takes some tens of milliseconds. */
const LOOK_AGAIN_S = 5;
/** Standing means at rest for 1 s, so the car surely stood this long before the causal start. */
const SURELY_RESTING_S = 0.5;
/** The standing before the start shows the receiver's noise at rest. */
const BEFORE_START_S = 5;
/** At the gentlest launch that counts, 2.5 m/s2, the car reaches 10 km/h in this time. */
const SURELY_MOVING_S = 1.1;

/** Plain data, since it is sent to a thread. */
export interface EstimatorOptions {
  readonly setUp: SetUp;
  readonly databases: readonly DbcFile[];
  readonly canFormat: CanFormat;
  /** The newest calibration of this car, or null to start from the set-up. */
  readonly calibration: Calibration | null;
  readonly gates: readonly Gate[];
}

/** Questions with one argument, and their answers; both are plain data. */
export interface EstimatorWork {
  /** The gates passed so far in the launch that began at `movementS`, with final times as far as the data reach. */
  settle(asked: { readonly movementS: number }): readonly GateResult[];
  /** Provisional runs that became complete since the last call. */
  runs(asked: { readonly marks: readonly Mark[] }): readonly DerivedRun[];
  /** A calibration better than the present one, which it replaces; null where the last minutes give none. */
  calibrate(asked: null): Calibration | null;
  /** The list before driving. `look` false: by the driving as it was last examined. */
  before(asked: { readonly seen: Omit<BeforeInput, "drive">; readonly look: boolean }): readonly BeforeCheck[];
}

export interface LiveEstimator extends EstimatorWork {
  push(packet: Packet): void;
  /** A port was opened again. */
  reopen(stream: Packet["stream"]): void;
}

/** Throws RoleError where the set-up's signals are impossible. */
export function createLiveEstimator({ setUp, databases, canFormat, calibration: given, gates }: EstimatorOptions): LiveEstimator {
  const stream = createDecodeStream({ setUp, databases, canFormat });
  let calibration = given ?? nominalCalibration(setUp);
  let newestNs = 0;
  let trimmedS = 0;
  let runsTakenToS = Number.NEGATIVE_INFINITY;
  let drive: AlignedRecording | null = null;
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
      // Without motor speed a drive gives only delay and scales; the radius then never becomes calibrated.
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
        drive = aligned(nowS - LOOK_S);
      }
      // The driving may be some seconds old; the calibration is the one in use.
      const fittedHere = calibration !== given && calibration.usedS > 0;
      return beforeDriving({ ...seen, drive: drive === null ? null : { recording: drive, calibration, fittedHere } });
    },
  };
}

/** Where the slow half runs: in this thread, answering at once, or in another. */
export interface Estimates {
  push(packet: Packet): void;
  reopen(stream: Packet["stream"]): void;
  /**
   * Answers come in the order of the questions. Null where a question could not be answered; whoever created this has then reported why.
   */
  ask<K extends keyof EstimatorWork>(
    name: K,
    argument: Parameters<EstimatorWork[K]>[0],
    then: (answer: ReturnType<EstimatorWork[K]> | null) => void,
  ): void;
  close(): void;
}

/** Answers before `ask` returns; errors of the estimator are thrown here. */
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
