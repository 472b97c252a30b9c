/**
 * A recording's runs from its packets, set-up and calibration alone: the one derivation that import, closing a live
 * recording, replay and rederive share. Without ground speed there are no runs, and `whyNone` says so.
 */
import { alignRecording } from "../align/align-recording.ts";
import type { AlignedRecording } from "../align/aligned-recording.ts";
import { calibrate } from "../align/calibrate.ts";
import type { Calibration } from "../align/calibration.ts";
import { drain } from "../kernel/drain.ts";
import { fingerprint } from "../kernel/fingerprint.ts";
import { estimateRun } from "../run/estimate-run.ts";
import { findLaunches, type LaunchWindow, whyNothingTimed } from "../launch/find-launches.ts";
import type { Gate } from "../launch/gate.ts";
import type { Mark } from "../launch/mark.ts";
import type { DerivedRun } from "../run/run.ts";
import type { SetUp } from "../setup/set-up.ts";
import type { DbcFile } from "../dbc/dbc-model.ts";
import type { StreamGap } from "../signals/tracks.ts";
import { createDecodeStream, type StreamCounts } from "./decode-stream.ts";
import type { CanFormat, Packet } from "./packet.ts";

/** Seconds of receiver and motor data on either side of the trigger that name a launch. */
const NAMING_HALF_WIDTH_S = 2;

interface DerivedRecording {
  readonly calibration: Calibration;
  readonly runs: readonly DerivedRun[];
  readonly recording: AlignedRecording;
  readonly counts: StreamCounts;
  /** One sentence when nothing could be timed; null otherwise. */
  readonly whyNone: string | null;
}

export interface DeriveOptions {
  readonly setUp: SetUp;
  readonly databases: readonly DbcFile[];
  readonly canFormat: CanFormat;
  readonly gates: readonly Gate[];
}

interface FinishOptions {
  readonly endNs: number;
  /** Null fits one on this recording. */
  readonly calibration: Calibration | null;
  readonly marks: readonly Mark[];
  /** Spans that the journal knows to be missing. */
  readonly gaps?: readonly StreamGap[];
}

export interface Derivation {
  /** Packets in arrival order. */
  push(packet: Packet): void;
  /** Aligns, calibrates where asked, finds and times every launch. */
  finish(options: FinishOptions): DerivedRecording;
  /** The same in steps, each giving the share that is done, so that a caller may show it and take a breath. */
  finishSteps(options: FinishOptions): Generator<number, DerivedRecording, undefined>;
}

/** Shares of the work, from a day of twelve launches: aligning, then fitting the calibration, then each launch. */
const ALIGNED = 0.15;
const CALIBRATED = 0.4;

/** Throws RoleError where the set-up's signals cannot hold. */
export function createDerivation({ setUp, databases, canFormat, gates }: DeriveOptions): Derivation {
  const stream = createDecodeStream({ setUp, databases, canFormat });
  function* finishSteps({ endNs, calibration, marks, gaps = [] }: FinishOptions): Generator<number, DerivedRecording, undefined> {
    stream.flush();
    const recording = alignRecording(stream.tracks(endNs, gaps), setUp);
    yield ALIGNED;
    const held = calibration ?? calibrate(recording, setUp, null);
    yield CALIBRATED;
    const whyNone = whyNothingTimed(recording);
    const windows = whyNone === null ? findLaunches(recording, held, setUp, marks, gates) : [];
    const runs: DerivedRun[] = [];
    for (const window of windows) {
      const uid = launchName(recording, window);
      runs.push(estimateRun({ recording, calibration: held, setUp, window, gates, uid }));
      yield CALIBRATED + (1 - CALIBRATED) * (runs.length / windows.length);
    }
    return { calibration: held, runs, recording, counts: stream.counts, whyNone };
  }
  return { push: stream.push, finishSteps, finish: (options) => drain(finishSteps(options)) };
}

/** The same launch gets the same name from live bytes, a log of them, or the journal: only data around its trigger counts. */
export function launchName(recording: AlignedRecording, window: LaunchWindow): string {
  const fromS = window.restS - NAMING_HALF_WIDTH_S;
  const toS = window.restS + NAMING_HALF_WIDTH_S;
  const values: number[] = [];
  const { epochs, roles } = recording;
  for (let i = 0; i < epochs.tS.length; i++) {
    if (epochs.tS[i] >= fromS && epochs.tS[i] < toS) values.push(epochs.utcMs[i], epochs.speedMps[i], epochs.latDeg[i], epochs.lonDeg[i]);
  }
  const motor = roles.motorSpeed;
  for (let i = 0; motor !== undefined && i < motor.tS.length; i++) {
    if (motor.tS[i] >= fromS && motor.tS[i] < toS) values.push(motor.value[i]);
  }
  return fingerprint(values);
}
