/**
 * One recording as it happens: packets in, the state for a screen and provisional runs out. What takes long is asked of the estimator, which may
 * run in another thread. Bounded memory. What is stale or was never heard is null; the final runs are derived later from the journal.
 */
import { nominalCalibration } from "../align/nominal-calibration.ts";
import { NS_PER_S } from "../kernel/units.ts";
import { createLaunchStates, type LaunchEvent } from "../launch/launch-states.ts";
import type { Mark } from "../launch/mark.ts";
import type { DerivedRun } from "../run/run.ts";
import { type BeforeCheck, type BeforeInput, beforeDriving } from "./before-driving.ts";
import { createDecodeStream } from "./decode-stream.ts";
import { createLiveAsks } from "./live-asks.ts";
import { createLiveDials } from "./live-dials.ts";
import { type Estimates, type EstimatorOptions, estimatesInline } from "./live-estimator.ts";
import { createLiveGates } from "./live-gates.ts";
import type { LiveEvent } from "./live-view.ts";
import type { Packet } from "./packet.ts";

/** The screen needs the newest values alone. */
const TRIM_EVERY_S = 10;
/** The launch's states follow the data at this pace. */
const SAMPLE_S = 0.01;

export interface LiveSessionOptions extends EstimatorOptions {
  /** Absent: what takes long is answered at once, and keeps its caller waiting. */
  readonly makeEstimates?: (options: EstimatorOptions) => Estimates;
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
  /** The list before driving on the last two minutes; in a launch on what was looked at before it. */
  before(seen: Omit<BeforeInput, "drive">): Promise<readonly BeforeCheck[]>;
  /** Provisional runs that became complete since the last call. */
  takeRuns(): DerivedRun[];
  readonly marks: readonly Mark[];
  /** Nothing is asked of the estimator any more. */
  close(): void;
}

/** `look`: at the last two minutes anew. Where they cannot be had the list still tells the rest. */
function askBefore(estimates: Estimates, seen: Omit<BeforeInput, "drive">, look: boolean): Promise<readonly BeforeCheck[]> {
  return new Promise((resolve) =>
    estimates.ask("before", { seen, look }, (checks) => resolve(checks ?? beforeDriving({ ...seen, drive: null }))),
  );
}

/** Throws RoleError where the set-up's signals cannot hold. */
export function createLiveSession({ makeEstimates = estimatesInline, ...options }: LiveSessionOptions): LiveSession {
  const { setUp, gates } = options;
  const estimates = makeEstimates(options);
  const states = createLaunchStates({ gates });
  const liveGates = createLiveGates(gates);
  const marks: Mark[] = [];
  const calibration = options.calibration ?? nominalCalibration(setUp);
  const asks = createLiveAsks({ estimates, liveGates, marks, calibration, epochs: () => stream.counts.gnss.epochs });
  const dials = createLiveDials({ setUp, calibration: () => asks.calibration });
  const stream = createDecodeStream({ ...options, onEpoch: dials.epoch, onFrames: dials.frames });
  let label = "";
  let stateSinceS = 0;
  let sampledS = Number.NEGATIVE_INFINITY;
  let trimmedS = 0;
  let oldestUnshownNs: number | null = null;

  const mark = (kind: Mark["kind"], nowNs: number, text = "") => marks.push({ tS: nowNs / NS_PER_S, kind, text });

  function hear(events: readonly LaunchEvent[]): void {
    for (const event of events) {
      if (event.kind === "state") {
        stateSinceS = event.tS;
        if (event.state === "launched") liveGates.begin(states.movementS() ?? event.tS);
      } else if (event.kind === "gate") liveGates.pass(event);
      else asks.ended(event.endS);
    }
  }

  /** Silence moves the states too: what was last heard of a car says nothing of it now. */
  function sample(nowNs: number): void {
    const nowS = nowNs / NS_PER_S;
    if (nowS - sampledS < SAMPLE_S) return;
    sampledS = nowS;
    hear(states.push(dials.sample(nowNs)));
  }

  function work(nowS: number): void {
    asks.work(nowS, states.state() === "launched");
    if (nowS - trimmedS >= TRIM_EVERY_S) {
      trimmedS = nowS;
      stream.dropBefore(nowS * NS_PER_S);
    }
  }

  return {
    marks,
    push(packet) {
      oldestUnshownNs ??= packet.arrivalNs;
      estimates.push(packet);
      dials.bytes(packet);
      stream.push(packet);
      const open = packet.stream === "gnss" ? stream.openEpoch() : null;
      if (open !== null) dials.epoch(open);
      dials.values(stream.tap.latest());
      const before = sampledS;
      sample(packet.arrivalNs);
      if (sampledS !== before) work(packet.arrivalNs / NS_PER_S);
    },
    tick(nowNs) {
      const nowS = nowNs / NS_PER_S;
      sample(nowNs);
      work(nowS);
      const view = dials.view(nowNs, stream.tap.takePeaks());
      const movementS = states.movementS();
      const ageMs = oldestUnshownNs === null ? 0 : Math.max(0, (nowNs - oldestUnshownNs) / 1e6);
      oldestUnshownNs = null;
      return {
        event: "live",
        tS: nowS,
        state: states.state(),
        stateSinceS: nowS - stateSinceS,
        nextLabel: label !== "" ? label : dials.proposedLabel(),
        runsStored: asks.runs,
        ...view,
        launchS: states.state() === "launched" && movementS !== null ? Math.max(0, nowS - movementS) : null,
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
    reopen(which) {
      stream.reopen(which);
      estimates.reopen(which);
    },
    before: (seen) => askBefore(estimates, seen, states.state() !== "launched"),
    close: estimates.close,
    takeRuns: asks.takeRuns,
  };
}
