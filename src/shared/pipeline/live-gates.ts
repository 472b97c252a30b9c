/** The gates of the launch under way: causal times at once, settled ones within a second. Too little data settles nothing. */
import type { AlignedRecording } from "../align/aligned-recording.ts";
import type { Calibration } from "../align/calibration.ts";
import type { Gate } from "../run/gate.ts";
import type { LaunchEvent } from "../run/launch-states.ts";
import { settleGates } from "../run/live-estimate.ts";
import type { GateResult } from "../run/run.ts";
import type { SetUp } from "../setup/set-up.ts";
import type { LiveEvent } from "./live-view.ts";

type PassedGate = LiveEvent["gates"][number];

/** A causal gate waits this long for the data behind it (live-estimate.ts needs 0.35 s and the receiver its delay). */
const SETTLE_AFTER_S = 0.45;
/** Tried again with each epoch, but no more often. */
const SETTLE_AGAIN_S = 0.1;
/** Standing is asked for 1 s, so this much before the causal start the car surely stood. */
const SURELY_RESTING_S = 0.5;
/** Standing before the start tells the receiver's noise at rest. */
const BEFORE_START_S = 5;
/** At the gentlest launch that counts, 2.5 m/s2, 10 km/h is reached by then. */
const SURELY_MOVING_S = 1.1;

export interface LiveGates {
  begin(movementS: number): void;
  pass(event: Extract<LaunchEvent, { kind: "gate" }>): void;
  /** `epochs`: how many the receiver has given so far; without a new one nothing new is known. */
  settleWhileDriving(nowS: number, epochs: number, aligned: (fromS: number) => AlignedRecording, calibration: Calibration): void;
  settle(gates: readonly GateResult[]): void;
  passed(): readonly PassedGate[];
  /** The next standing gate above this speed, by name. */
  next(groundSpeedMps: number | null): string | null;
}

export function createLiveGates({ setUp, gates }: { readonly setUp: SetUp; readonly gates: readonly Gate[] }): LiveGates {
  const standing = gates.filter((gate) => gate.kind === "standing").sort((a, b) => a.toMps - b.toMps);
  let passed: PassedGate[] = [];
  let waitingSinceS: number | null = null;
  let movementS = 0;
  let triedS = Number.NEGATIVE_INFINITY;
  let triedEpochs = 0;

  function settle(results: readonly GateResult[]): void {
    passed = passed.map((one) => {
      const result = results.find((r) => r.gate === one.gate && (r.start === "movement" || r.start === "entry"));
      if (result === undefined || result.seconds === null) return one;
      return { gate: one.gate, seconds: result.seconds, plusMinus95: result.plusMinus95, settled: true };
    });
  }

  return {
    settle,
    begin(atS) {
      passed = [];
      waitingSinceS = null;
      movementS = atS;
    },
    pass({ gate, start, seconds, atS }) {
      if (start === "1 ft") return;
      passed = [...passed, { gate, seconds, plusMinus95: null, settled: false }];
      waitingSinceS ??= atS;
    },
    settleWhileDriving(nowS, epochs, aligned, calibration) {
      if (waitingSinceS === null || nowS - waitingSinceS < SETTLE_AFTER_S) return;
      if (epochs === triedEpochs || nowS - triedS < SETTLE_AGAIN_S) return;
      triedS = nowS;
      triedEpochs = epochs;
      const restS = movementS - SURELY_RESTING_S;
      const movingS = movementS + SURELY_MOVING_S;
      settle(settleGates({ recording: aligned(restS - BEFORE_START_S), calibration, setUp, gates, restS, movingS }));
      if (passed.every((gate) => gate.settled)) waitingSinceS = null;
    },
    passed: () => passed,
    next(groundSpeedMps) {
      return standing.find((gate) => gate.toMps > (groundSpeedMps ?? 0) && !passed.some((one) => one.gate === gate.name))?.name ?? null;
    },
  };
}
