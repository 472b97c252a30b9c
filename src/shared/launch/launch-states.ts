/**
 * The launch as it happens: a causal state machine fed sample by sample. Its gate times are provisional; find-launches and
 * estimate-run replace them. Unknown ground speed moves nothing: what cannot be seen is not timed.
 */
import { M_PER_FOOT, MPS_PER_KMH } from "../kernel/units.ts";
import { type Gate, type GateEnds, gateEnds, STANDARD_GATES } from "./gate.ts";
import { STAND_MPS } from "./ground-trace.ts";
import type { StartName } from "./gate-result.ts";
import { crossingBetween } from "../align/timed-lookup.ts";

export type LaunchState = "idle" | "armed" | "standing" | "launched" | "done" | "aborted";

/** What is known at one instant, SI units; null where unknown or stale. Samples come in order of time. */
export interface LiveSample {
  readonly tS: number;
  readonly groundSpeedMps: number | null;
  /** Signed: below 0 while reversing. */
  readonly wheelSpeedMps: number | null;
  readonly pedalPercent: number | null;
  readonly accelerationMps2: number | null;
  /** The receiver's last second held no movement; false where it did or is unknown. */
  readonly atRest: boolean;
  /** No source saw the car roll for a second, and the one that would see it first is heard. */
  readonly still: boolean;
  /** The receiver's newest speed is beyond what its noise makes of a standing car. */
  readonly moves: boolean;
  /** The receiver's last half second, or longer, was surely over 2.5 m/s2. */
  readonly hard: boolean;
  /** What the receiver's noise may add to the speed of a standing car. */
  readonly restLevelMps: number;
}

export type LaunchEvent =
  | { readonly kind: "state"; readonly state: LaunchState; readonly tS: number }
  | { readonly kind: "gate"; readonly gate: string; readonly start: StartName; readonly seconds: number; readonly atS: number }
  | { readonly kind: "ended"; readonly why: "lift" | "gates" | "stopped" | "abort"; readonly movementS: number; readonly endS: number };

export interface LaunchStates {
  readonly state: () => LaunchState;
  /** Start "movement" of the launch under way or last ended, s; null before the first. */
  readonly movementS: () => number | null;
  readonly arm: (tS: number) => LaunchEvent[];
  /** Before a launch: disarms. In a launch: ends it; arming again is then the passenger's. */
  readonly abort: (tS: number) => LaunchEvent[];
  readonly push: (sample: LiveSample) => LaunchEvent[];
}

interface OpenGate {
  readonly gate: Gate;
  readonly ends: GateEnds;
  readonly start: StartName;
  fromS: number | null;
  fromM: number;
}

const SURELY_MPS = 10 * MPS_PER_KMH;
const MEANT_WITHIN_S = 3;
/** A launch is seen to begin within this time of its start: the receiver's delay, an epoch, and 0.5 m/s. */
const START_WITHIN_S = 1;
/** A launch that has not reached 10 km/h by then never was one: the finder looks no further back either. */
const SURELY_WITHIN_S = 6;
/** So long after a movement the receiver's second at rest, with its delay, lies wholly behind it. */
const REST_TELLS_S = 1.6;

/** `gates`: those that are timed; the last of them ends a run. */
export function createLaunchStates({ gates = STANDARD_GATES }: { readonly gates?: readonly Gate[] } = {}): LaunchStates {
  let state: LaunchState = "idle";
  /** A launch may begin: the receiver was at rest, and what movement it saw since is young. Says nothing to people. */
  let poised = false;
  let movementS: number | null = null;
  let movingSinceS: number | null = null;
  let meant = false;
  let wheelMps: number | null = null;
  let wheelRoseS: number | null = null;
  let liftedSinceS: number | null = null;
  let lastGateS: number | null = null;
  let distanceM = 0;
  let surely = false;
  let last: { tS: number; v: number } | null = null;
  let open: OpenGate[] = [];

  const enter = (next: LaunchState, tS: number, out: LaunchEvent[]) => {
    state = next;
    out.push({ kind: "state", state, tS });
  };

  const end = (why: "lift" | "gates" | "stopped" | "abort", tS: number, out: LaunchEvent[]) => {
    out.push({ kind: "ended", why, movementS: movementS ?? tS, endS: tS });
    enter(why === "abort" ? "aborted" : "done", tS, out);
  };

  /** First crossings since the last sample, on straight lines: causal, so only the past is used. */
  const passGates = (tS: number, v: number, out: LaunchEvent[]) => {
    if (!last || movementS === null) return;
    const before = distanceM;
    distanceM += ((v + last.v) / 2) * (tS - last.tS);
    for (const one of open) {
      if (one.start === "1 ft" && one.fromS === null && distanceM >= M_PER_FOOT) {
        one.fromS = crossingBetween(last.tS, before, tS, distanceM, M_PER_FOOT);
        one.fromM = M_PER_FOOT;
      }
      const { fromMps } = one.ends;
      if (fromMps !== null && one.fromS === null && v >= fromMps && last.v < fromMps) {
        one.fromS = crossingBetween(last.tS, last.v, tS, v, fromMps);
        one.fromM = distanceM;
      }
    }
    open = open.filter((one) => {
      const { to } = one.ends;
      if (one.fromS === null || to.what === "standing" || !last) return true;
      const level = to.what === "distance" ? one.fromM + to.m : to.mps;
      const [a, b] = to.what === "distance" ? [before, distanceM] : [last.v, v];
      if (!(b >= level)) return true;
      const atS = a < level ? crossingBetween(last.tS, a, tS, b, level) : tS;
      out.push({ kind: "gate", gate: one.gate.name, start: one.start, seconds: atS - one.fromS, atS });
      return false;
    });
    if (open.length === 0) lastGateS ??= tS;
  };

  /**
   * Where it started: when the driven wheels rose through 0.5 km/h, which is some hundredths early; without them, where the speed's own slope meets 0.
   * The receiver's speeds come later than the car's, by its delay and up to one epoch.
   */
  const startOf = ({ tS, accelerationMps2: a }: LiveSample, v: number): number => {
    const noLaterS = movingSinceS ?? tS;
    if (wheelRoseS !== null && tS - wheelRoseS < START_WITHIN_S) return Math.min(noLaterS, wheelRoseS);
    return a !== null && a > 1 ? Math.min(noLaterS, tS - Math.min(START_WITHIN_S, v / a)) : noLaterS;
  };

  const begin = (sample: LiveSample, v: number, out: LaunchEvent[]) => {
    const { tS } = sample;
    movementS = startOf(sample, v);
    awaitRest();
    distanceM = (v * (tS - movementS)) / 2;
    lastGateS = null;
    liftedSinceS = null;
    surely = false;
    const from = movementS;
    open = gates.flatMap((gate): OpenGate[] => {
      const ends = gateEnds(gate);
      // A stop is timed when the run is in.
      if (ends.to.what === "standing") return [];
      return ends.starts.map((start) => ({ gate, ends, fromS: start === "movement" ? from : null, start, fromM: 0 }));
    });
    enter("launched", tS, out);
  };

  const awaitRest = () => {
    poised = false;
    movingSinceS = null;
    meant = false;
  };

  /** At rest, or just leaving it: a movement that is meant begins the launch, one that is not waits for the next rest. */
  const leave = (sample: LiveSample, v: number, out: LaunchEvent[]) => {
    const { tS, wheelSpeedMps, pedalPercent, moves, hard, restLevelMps } = sample;
    const rest = STAND_MPS + restLevelMps;
    if (v < rest) {
      movingSinceS = null;
      meant = false;
      return;
    }
    movingSinceS ??= last && last.v < rest ? crossingBetween(last.tS, last.v, tS, v, rest) : tS;
    if ((pedalPercent !== null && pedalPercent > 50) || hard) meant = true;
    if (wheelSpeedMps !== null && wheelSpeedMps < -STAND_MPS) meant = false;
    // The speed between epochs is foretold: what is foretold alone begins nothing.
    if (meant && moves) begin(sample, v, out);
    else if (tS - movingSinceS > MEANT_WITHIN_S) awaitRest();
  };

  /** Under way: how it ends. Before 10 km/h it was a false start, of which nothing is kept. */
  const goOn = ({ tS, pedalPercent, atRest, restLevelMps }: LiveSample, v: number, out: LaunchEvent[]) => {
    passGates(tS, v, out);
    if (v >= SURELY_MPS) surely = true;
    if (pedalPercent !== null) liftedSinceS = pedalPercent < 5 ? (liftedSinceS ?? tS) : null;
    const sinceS = tS - (movementS ?? tS);
    if (!surely) {
      if ((atRest && sinceS > REST_TELLS_S) || sinceS > SURELY_WITHIN_S) {
        movementS = null;
        enter("armed", tS, out);
      }
    } else if (v < STAND_MPS + restLevelMps) end("stopped", tS, out);
    else if (liftedSinceS !== null && tS - liftedSinceS >= 1) end("lift", tS, out);
    else if (lastGateS !== null && tS - lastGateS >= 1) end("gates", tS, out);
  };

  /** "Standing" is what people act on: it ends with the first source that saw the car roll, long before a launch is told from a gentle start. */
  const showStanding = ({ tS, groundSpeedMps, still }: LiveSample, out: LaunchEvent[]) => {
    const stands = poised && still && groundSpeedMps !== null;
    if (stands && (state === "armed" || state === "done")) enter("standing", tS, out);
    else if (!stands && state === "standing") enter("armed", tS, out);
  };

  return {
    state: () => state,
    movementS: () => movementS,
    arm: (tS) => {
      const out: LaunchEvent[] = [];
      if (state === "idle" || state === "aborted" || state === "done") {
        awaitRest();
        enter("armed", tS, out);
      }
      return out;
    },
    abort: (tS) => {
      const out: LaunchEvent[] = [];
      awaitRest();
      if (state === "launched") end("abort", tS, out);
      else if (state !== "idle") enter("idle", tS, out);
      return out;
    },
    push: (sample) => {
      const { tS, groundSpeedMps: v, atRest } = sample;
      const out: LaunchEvent[] = [];
      if (sample.wheelSpeedMps !== null) {
        if (wheelMps !== null && wheelMps < STAND_MPS && sample.wheelSpeedMps >= STAND_MPS) wheelRoseS = tS;
        wheelMps = sample.wheelSpeedMps;
      }
      const known = v !== null && Number.isFinite(v) && !(last && tS <= last.tS);
      if (known && state === "launched") goOn(sample, v, out);
      else if (known && state !== "idle" && state !== "aborted") {
        if (poised) leave(sample, v, out);
        else poised = atRest;
      }
      showStanding(sample, out);
      if (known) last = { tS, v };
      return out;
    },
  };
}
