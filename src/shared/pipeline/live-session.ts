/**
 * One recording as it happens: packets in, the state for a screen and provisional runs out. Bounded memory: it keeps
 * the last minutes only. What is stale or was never heard is null; the final runs are derived later from the journal.
 */
import { alignRecording } from "../align/align-recording.ts";
import { calibrate } from "../align/calibrate.ts";
import type { Calibration } from "../align/calibration.ts";
import { nominalCalibration } from "../align/nominal-calibration.ts";
import { NS_PER_S } from "../kernel/units.ts";
import { estimateRun } from "../run/estimate-run.ts";
import { findLaunches } from "../run/find-launches.ts";
import type { Gate } from "../run/gate.ts";
import { createLaunchStates, type LaunchEvent } from "../run/launch-states.ts";
import type { Mark } from "../run/mark.ts";
import type { DerivedRun } from "../run/run.ts";
import type { SetUp } from "../setup/set-up.ts";
import type { DbcFile } from "../signals/dbc-model.ts";
import type { RecentDrive } from "./before-driving.ts";
import { createDecodeStream } from "./decode-stream.ts";
import { launchName } from "./derive-recording.ts";
import { createLiveDials } from "./live-dials.ts";
import { createLiveGates } from "./live-gates.ts";
import type { LiveEvent } from "./live-view.ts";
import type { CanFormat, Packet } from "./packet.ts";
import { sliceTracks } from "./slice-tracks.ts";

/** Kept for calibration and runs; a minute of launch and its return fit well inside. */
const KEEP_S = 240;
const TRIM_EVERY_S = 10;
/** DESIGN keeps 3 s after a run; epochs of that stretch still need their delay to arrive. */
const RUN_COMPLETE_S = 3.4;
const CALIBRATE_EVERY_S = 15;
const LOOK_S = 120;
/** The launch's states follow the data at this pace. */
const SAMPLE_S = 0.01;

export interface LiveSessionOptions {
  readonly setUp: SetUp;
  readonly databases: readonly DbcFile[];
  readonly canFormat: CanFormat;
  /** The newest one of this car, or null to start from the set-up. */
  readonly calibration: Calibration | null;
  readonly gates: readonly Gate[];
}

export interface LiveSession {
  push(packet: Packet): void;
  /** The state at `nowNs`, for a screen. */
  tick(nowNs: number): LiveEvent;
  arm(nowNs: number): void;
  /** Before a launch: disarms. In a launch: ends it; the run is kept and flagged. */
  abort(nowNs: number): void;
  setLabel(text: string, nowNs: number): void;
  /** A port was opened again. */
  reopen(stream: Packet["stream"]): void;
  /** The last two minutes and the calibration in force: for the list before driving, so not to be asked for at every beat. */
  look(): RecentDrive;
  /** Provisional runs that became complete since the last call. */
  takeRuns(): DerivedRun[];
  readonly marks: readonly Mark[];
}

/** Throws RoleError where the set-up's signals cannot hold. */
export function createLiveSession({ setUp, databases, canFormat, calibration: given, gates }: LiveSessionOptions): LiveSession {
  let calibration = given ?? nominalCalibration(setUp);
  const states = createLaunchStates({ gates });
  const dials = createLiveDials({ setUp, calibration: () => calibration });
  const liveGates = createLiveGates({ setUp, gates });
  const stream = createDecodeStream({ setUp, databases, canFormat, onEpoch: dials.epoch, onFrames: dials.frames });
  const marks: Mark[] = [];
  const complete: DerivedRun[] = [];
  let label = "";
  let stateSinceS = 0;
  let runs = 0;
  let newestNs = 0;
  let sampledS = Number.NEGATIVE_INFINITY;
  let trimmedS = 0;
  let calibratedS = 0;
  let oldestUnshownNs: number | null = null;
  let ended: { endS: number; aborted: boolean } | null = null;
  let runsTakenToS = Number.NEGATIVE_INFINITY;

  const aligned = (fromS: number) => alignRecording(sliceTracks(stream.tracks(newestNs, []), fromS * NS_PER_S), setUp);
  const mark = (kind: Mark["kind"], nowNs: number, text = "") => marks.push({ tS: nowNs / NS_PER_S, kind, text });

  function hear(events: readonly LaunchEvent[]): void {
    for (const event of events) {
      if (event.kind === "state") {
        stateSinceS = event.tS;
        if (event.state === "launched") liveGates.begin(states.movementS() ?? event.tS);
      } else if (event.kind === "gate") liveGates.pass(event);
      else ended = { endS: event.endS, aborted: event.why === "abort" };
    }
  }

  /** The launch that just ended, timed on what is kept. */
  function finishRun(): void {
    const recording = aligned(Math.max(runsTakenToS, newestNs / NS_PER_S - KEEP_S));
    for (const window of findLaunches(recording, calibration, setUp, marks, gates)) {
      if (window.restS <= runsTakenToS) continue;
      runsTakenToS = window.endS;
      runs += 1;
      const run = estimateRun({ recording, calibration, setUp, window, gates, uid: launchName(recording, window) });
      complete.push(run);
      liveGates.settle(run.gates);
    }
  }

  function work(nowS: number): void {
    if (ended !== null && nowS >= ended.endS + RUN_COMPLETE_S) {
      ended = null;
      finishRun();
    } else if (states.state() === "launched" || ended !== null) {
      liveGates.settleWhileDriving(nowS, stream.counts.gnss.epochs, aligned, calibration);
    } else if (nowS - calibratedS >= CALIBRATE_EVERY_S) {
      calibratedS = nowS;
      const fresh = calibrate(aligned(nowS - KEEP_S), setUp, calibration);
      // Without motor speed a drive tells delay and scales alone: the radius never becomes calibrated then.
      const judged =
        fresh.rollingRadiusM.from === "calibrated" || calibration.rollingRadiusM.from === "calibrated" ? "rollingRadiusM" : "gnssDelayS";
      const better = fresh[judged].from === "calibrated" && fresh[judged].plusMinus95 <= calibration[judged].plusMinus95;
      if (better) calibration = fresh;
    }
    if (nowS - trimmedS >= TRIM_EVERY_S) {
      trimmedS = nowS;
      stream.dropBefore((nowS - KEEP_S) * NS_PER_S);
    }
  }

  return {
    marks,
    push(packet) {
      newestNs = packet.arrivalNs;
      oldestUnshownNs ??= packet.arrivalNs;
      dials.bytes(packet);
      stream.push(packet);
      const open = packet.stream === "gnss" ? stream.openEpoch() : null;
      if (open !== null) dials.epoch(open);
      const nowS = packet.arrivalNs / NS_PER_S;
      dials.values(stream.tap.latest());
      if (nowS - sampledS >= SAMPLE_S) {
        sampledS = nowS;
        hear(states.push(dials.sample(packet.arrivalNs)));
        work(nowS);
      }
    },
    tick(nowNs) {
      const nowS = nowNs / NS_PER_S;
      work(nowS);
      const view = dials.view(nowNs, stream.tap.takePeaks());
      const movementS = states.movementS();
      const launched = states.state() === "launched";
      const ageMs = oldestUnshownNs === null ? 0 : Math.max(0, (nowNs - oldestUnshownNs) / 1e6);
      oldestUnshownNs = null;
      return {
        event: "live",
        tS: nowS,
        state: states.state(),
        stateSinceS: nowS - stateSinceS,
        nextLabel: label !== "" ? label : dials.proposedLabel(),
        runsStored: runs,
        ...view,
        launchS: launched && movementS !== null ? Math.max(0, nowS - movementS) : null,
        gates: liveGates.passed(),
        nextGate: liveGates.next(view.groundSpeedMps),
        ageMs,
      };
    },
    arm(nowNs) {
      mark("arm", nowNs);
      hear(states.arm(nowNs / NS_PER_S));
    },
    abort(nowNs) {
      if (states.state() === "launched") mark("abort", nowNs);
      mark("disarm", nowNs);
      hear(states.abort(nowNs / NS_PER_S));
    },
    setLabel(text, nowNs) {
      label = text;
      mark("label", nowNs, text);
    },
    reopen: stream.reopen,
    look: () => ({ recording: aligned(newestNs / NS_PER_S - LOOK_S), calibration, fittedHere: calibration !== given && calibration.usedS > 0 }),
    takeRuns: () => complete.splice(0),
  };
}
