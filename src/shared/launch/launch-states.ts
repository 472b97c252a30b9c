/**
 * The launch as it happens: a causal state machine fed sample by sample. Its gate times are provisional; find-launches and
 * estimate-run replace them. Unknown ground speed moves nothing: what cannot be seen is not timed.
 */
import { MPS_PER_KMH } from "../kernel/units.ts";
import { type Gate, STANDARD_GATES } from "./gate.ts";
import { STAND_MPS } from "./ground-trace.ts";
import { createOpenGates, type PassedGate } from "./open-gates.ts";
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
  | PassedGate
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

const SURELY_MPS = 10 * MPS_PER_KMH;
const MEANT_WITHIN_S = 3;
/** A launch is seen to begin within this time of its start: the receiver's delay, an epoch, and 0.5 m/s. */
const START_WITHIN_S = 1;
/** A launch that has not reached 10 km/h by then never was one: the finder looks no further back either. */
const SURELY_WITHIN_S = 6;
/** So long after a movement the receiver's second at rest, with its delay, lies wholly behind it. */
const REST_TELLS_S = 1.6;

/**
 * Where it started: when the driven wheels rose through 0.5 km/h, which is some hundredths early; without them, where the speed's own slope meets 0.
 * The receiver's speeds come later than the car's, by its delay and up to one epoch.
 */
function startOf({ tS, accelerationMps2: a }: LiveSample, v: number, noLaterS: number, wheelRoseS: number | null): number {
  if (wheelRoseS !== null && tS - wheelRoseS < START_WITHIN_S) return Math.min(noLaterS, wheelRoseS);
  return a !== null && a > 1 ? Math.min(noLaterS, tS - Math.min(START_WITHIN_S, v / a)) : noLaterS;
}

/** When the driven wheels last rose through 0.5 km/h, s; null before. */
function createWheelRise() {
  let mps: number | null = null;
  let roseS: number | null = null;
  return {
    get roseS() {
      return roseS;
    },
    push({ tS, wheelSpeedMps }: LiveSample) {
      if (wheelSpeedMps === null) return;
      if (mps !== null && mps < STAND_MPS && wheelSpeedMps >= STAND_MPS) roseS = tS;
      mps = wheelSpeedMps;
    },
  };
}

/** Whether a movement is a launch: more than half pedal, or hard acceleration, and not backwards. Once meant it stays so. */
function isMeant({ pedalPercent, hard, wheelSpeedMps }: LiveSample, before: boolean): boolean {
  if (wheelSpeedMps !== null && wheelSpeedMps < -STAND_MPS) return false;
  return before || hard || (pedalPercent !== null && pedalPercent > 50);
}

/** `gates`: those that are timed; the last of them ends a run. */
export function createLaunchStates({ gates = STANDARD_GATES }: { readonly gates?: readonly Gate[] } = {}): LaunchStates {
  let state: LaunchState = "idle";
  /** A launch may begin: the receiver was at rest, and what movement it saw since is young. Says nothing to people. */
  let poised = false;
  let movementS: number | null = null;
  let movingSinceS: number | null = null;
  let meant = false;
  const wheels = createWheelRise();
  let liftedSinceS: number | null = null;
  let surely = false;
  let last: { tS: number; v: number } | null = null;
  const open = createOpenGates(gates);

  const enter = (next: LaunchState, tS: number, out: LaunchEvent[]) => {
    state = next;
    out.push({ kind: "state", state, tS });
  };

  const end = (why: "lift" | "gates" | "stopped" | "abort", tS: number, out: LaunchEvent[]) => {
    out.push({ kind: "ended", why, movementS: movementS ?? tS, endS: tS });
    enter(why === "abort" ? "aborted" : "done", tS, out);
  };

  const begin = (sample: LiveSample, v: number, out: LaunchEvent[]) => {
    movementS = startOf(sample, v, movingSinceS ?? sample.tS, wheels.roseS);
    awaitRest();
    open.begin(movementS, { tS: sample.tS, v });
    liftedSinceS = null;
    surely = false;
    enter("launched", sample.tS, out);
  };

  const awaitRest = () => {
    poised = false;
    movingSinceS = null;
    meant = false;
  };

  /** At rest, or just leaving it: a movement that is meant begins the launch, one that is not waits for the next rest. */
  const leave = (sample: LiveSample, v: number, out: LaunchEvent[]) => {
    const { tS, moves, restLevelMps } = sample;
    const rest = STAND_MPS + restLevelMps;
    if (v < rest) {
      movingSinceS = null;
      meant = false;
      return;
    }
    movingSinceS ??= last && last.v < rest ? crossingBetween(last.tS, last.v, tS, v, rest) : tS;
    meant = isMeant(sample, meant);
    // The speed between epochs is foretold: what is foretold alone begins nothing.
    if (meant && moves) begin(sample, v, out);
    else if (tS - movingSinceS > MEANT_WITHIN_S) awaitRest();
  };

  /** Under way: how it ends. Before 10 km/h it was a false start, of which nothing is kept. */
  const goOn = ({ tS, pedalPercent, atRest, restLevelMps }: LiveSample, v: number, out: LaunchEvent[]) => {
    if (last !== null && movementS !== null) out.push(...open.pass(last, { tS, v }));
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
    else if (open.lastS !== null && tS - open.lastS >= 1) end("gates", tS, out);
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
      if (state !== "idle" && state !== "aborted" && state !== "done") return [];
      const out: LaunchEvent[] = [];
      awaitRest();
      enter("armed", tS, out);
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
      wheels.push(sample);
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
