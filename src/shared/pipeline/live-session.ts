/**
 * One recording as it happens: takes packets, gives the state for a screen and provisional runs. Slow questions go to the estimator, which
 * may run in another thread. Bounded memory. What is stale or was never received is null. The final runs are derived later, from the
 * journal.
 */
import type { Calibration } from "../align/calibration.ts";
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

/** The screen needs only the newest values. */
const TRIM_EVERY_S = 10;
/** The launch states are updated at this step. */
const SAMPLE_S = 0.01;

export interface LiveSessionOptions extends EstimatorOptions {
  /** Absent: slow questions are answered at once and keep the caller waiting. */
  readonly makeEstimates?: (options: EstimatorOptions) => Estimates;
}

export interface LiveSession {
  push(packet: Packet): void;
  /** The state at `nowNs`, for a screen. */
  tick(nowNs: number): LiveEvent;
  arm(nowNs: number): void;
  /** Before a launch this disarms. In a launch it ends the run, which is kept and flagged. */
  abort(nowNs: number): void;
  setLabel(text: string, nowNs: number): void;
  /** A port was opened again. */
  reopen(stream: Packet["stream"]): void;
  /** The list before driving, from the last two minutes. In a launch: from what was examined before it. */
  before(seen: Omit<BeforeInput, "drive">): Promise<readonly BeforeCheck[]>;
  /** Provisional runs that became complete since the last call. */
  takeRuns(): DerivedRun[];
  readonly marks: readonly Mark[];
  /** The calibration that this recording has fitted so far; null while it has fitted none. */
  fitted(): Calibration | null;
  /** Nothing more is asked of the estimator. */
  close(): void;
}

/** `look`: examine the last two minutes anew. Without them the list still gives the rest. */
function askBefore(estimates: Estimates, seen: Omit<BeforeInput, "drive">, look: boolean): Promise<readonly BeforeCheck[]> {
  return new Promise((resolve) =>
    estimates.ask("before", { seen, look }, (checks) => resolve(checks ?? beforeDriving({ ...seen, drive: null }))),
  );
}

/** Throws RoleError where the set-up's signals are impossible. */
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

  /** Whether a sample was due. Silence changes the states too: old data say nothing about the car now. */
  function sample(nowNs: number): boolean {
    const nowS = nowNs / NS_PER_S;
    if (nowS - sampledS < SAMPLE_S) return false;
    sampledS = nowS;
    hear(states.push(dials.sample(nowNs)));
    return true;
  }

  function work(nowS: number): void {
    asks.work(nowS, states.state() === "launched");
    if (nowS - trimmedS < TRIM_EVERY_S) return;
    trimmedS = nowS;
    stream.dropBefore(nowS * NS_PER_S);
  }

  return {
    marks,
    fitted: () => asks.fitted,
    push(packet) {
      oldestUnshownNs ??= packet.arrivalNs;
      estimates.push(packet);
      dials.bytes(packet);
      stream.push(packet);
      const open = packet.stream === "gnss" ? stream.openEpoch() : null;
      if (open !== null) dials.epoch(open);
      dials.values(stream.tap.latest());
      if (sample(packet.arrivalNs)) work(packet.arrivalNs / NS_PER_S);
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
