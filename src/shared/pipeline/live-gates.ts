/** The gates of the present launch: causal times at once, final ones within a second. With too little data no time becomes final. */
import { type Gate, gateEnds } from "../launch/gate.ts";
import type { LaunchEvent } from "../launch/launch-states.ts";
import type { GateResult } from "../launch/gate-result.ts";
import type { LiveEvent } from "./live-view.ts";

type PassedGate = LiveEvent["gates"][number];

/** A causal gate waits this long for the data after it (live-estimate.ts needs 0.35 s, and the receiver's delay comes on top). */
const SETTLE_AFTER_S = 0.45;
/** Tried again with each epoch, but not more often than this. */
const SETTLE_AGAIN_S = 0.1;
/** The causal and the fitted start of one launch differ by less than this; two launches lie further apart. */
const SAME_LAUNCH_S = 1;

export interface LiveGates {
  begin(movementS: number): void;
  pass(event: Extract<LaunchEvent, { kind: "gate" }>): void;
  /**
   * The causal start of the launch whose gates can be timed now; null where no new result is possible. `epochs`: how many the receiver has
   * given so far.
   */
  toSettle(nowS: number, epochs: number): number | null;
  /** Takes the times found for the launch that began at `movementS`; those of another launch are ignored. */
  settle(gates: readonly GateResult[], movementS: number): void;
  passed(): readonly PassedGate[];
  /** The next standing gate above this speed, by name. */
  next(groundSpeedMps: number | null): string | null;
}

export function createLiveGates(gates: readonly Gate[]): LiveGates {
  const standing = gates
    .flatMap((gate) => {
      const { fromMps, to } = gateEnds(gate);
      return fromMps === null && to.what === "speed" ? [{ name: gate.name, toMps: to.mps }] : [];
    })
    .sort((a, b) => a.toMps - b.toMps);
  let passed: PassedGate[] = [];
  let waitingSinceS: number | null = null;
  let movementS = 0;
  let triedS = Number.NEGATIVE_INFINITY;
  let triedEpochs = 0;

  return {
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
    toSettle(nowS, epochs) {
      if (waitingSinceS === null || nowS - waitingSinceS < SETTLE_AFTER_S) return null;
      if (epochs === triedEpochs || nowS - triedS < SETTLE_AGAIN_S) return null;
      triedS = nowS;
      triedEpochs = epochs;
      return movementS;
    },
    settle(results, ofLaunchS) {
      if (Math.abs(ofLaunchS - movementS) > SAME_LAUNCH_S) return;
      passed = passed.map((one) => {
        const result = results.find((r) => r.gate === one.gate && (r.start === "movement" || r.start === "entry"));
        if (result === undefined || result.seconds === null) return one;
        return { gate: one.gate, seconds: result.seconds, plusMinus95: result.plusMinus95, settled: true };
      });
      if (passed.every((gate) => gate.settled)) waitingSinceS = null;
    },
    passed: () => passed,
    next(groundSpeedMps) {
      return standing.find((gate) => gate.toMps > (groundSpeedMps ?? 0) && !passed.some((one) => one.gate === gate.name))?.name ?? null;
    },
  };
}
