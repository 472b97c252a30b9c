/**
 * A guided calibration while it runs: keeps the driving since its beginning and fits it every few seconds. Bounded to ten minutes; the fit
 * itself says when there is too little driving.
 */
import { alignRecording } from "../../../shared/align/align-recording.ts";
import { calibrate } from "../../../shared/align/calibrate.ts";
import type { Calibration } from "../../../shared/align/calibration.ts";
import { type CalibrationProgress, calibrationProgress } from "../../../shared/align/calibration-progress.ts";
import { NS_PER_S } from "../../../shared/kernel/units.ts";
import { createDecodeStream, type DecodeStream } from "../../../shared/pipeline/decode-stream.ts";
import { canFormatOf, type Packet } from "../../../shared/pipeline/packet.ts";
import type { Clock } from "../../ports/clock.ts";
import type { ReadySetUp } from "../basics/read-set-up.ts";

const FIT_EVERY_S = 4;
/** More than any guided drive needs; a longer fit would delay arriving bytes. */
const KEEP_S = 600;

interface GuidedState {
  readonly calibration: Calibration;
  readonly progress: CalibrationProgress;
  readonly seconds: number;
}

/** Both figures, once good, stay: driving that ages out of what is kept, or a fit a little wider, takes nothing away that was offered. */
function keptGood(before: GuidedState | null, now: GuidedState): GuidedState {
  if (before === null || !before.progress.good || now.progress.good) return now;
  const { radiusPlusMinus95M, delayPlusMinus95S } = before.progress;
  return { ...now, calibration: before.calibration, progress: { ...now.progress, good: true, radiusPlusMinus95M, delayPlusMinus95S } };
}

export interface GuidedDrive {
  begin(ready: ReadySetUp): void;
  push(packet: Packet): void;
  /** Null when none is running. */
  state(): GuidedState | null;
  end(): void;
}

export function createGuidedDrive(clock: Clock): GuidedDrive {
  let drive: {
    stream: DecodeStream;
    ready: ReadySetUp;
    fromNs: number;
    newestNs: number;
    fittedNs: number;
    last: GuidedState | null;
  } | null = null;
  return {
    begin(ready) {
      const { setUp, databases } = ready;
      const stream = createDecodeStream({ setUp, databases, canFormat: canFormatOf(setUp.sources) });
      drive = { stream, ready, fromNs: clock.monotonicNs(), newestNs: 0, fittedNs: Number.NEGATIVE_INFINITY, last: null };
    },
    push({ stream, arrivalNs, bytes }) {
      if (drive === null || arrivalNs < drive.fromNs) return;
      drive.newestNs = Math.max(drive.newestNs, arrivalNs - drive.fromNs);
      drive.stream.push({ stream, arrivalNs: drive.newestNs, bytes });
    },
    state() {
      if (drive === null) return null;
      if (drive.last !== null && drive.newestNs - drive.fittedNs < FIT_EVERY_S * NS_PER_S) return drive.last;
      drive.fittedNs = drive.newestNs;
      drive.stream.dropBefore(drive.newestNs - KEEP_S * NS_PER_S);
      const { setUp } = drive.ready;
      const recording = alignRecording(drive.stream.tracks(drive.newestNs, []), setUp);
      const calibration = calibrate(recording, setUp, null);
      drive.last = keptGood(drive.last, {
        calibration,
        progress: calibrationProgress(recording, setUp, calibration),
        seconds: drive.newestNs / NS_PER_S,
      });
      return drive.last;
    },
    end() {
      drive = null;
    },
  };
}
