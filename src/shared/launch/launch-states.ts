/**
 * The states of a launch while it happens: a causal state machine that takes one sample at a time. Its gate times are provisional;
 * find-launches and estimate-run replace them. While ground speed is unknown, no state changes by it and nothing is timed.
 */
import { MEANT_WITHIN_S } from "./find-launches.ts";
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
  /** The receiver showed no movement in the last second; false where it did or where this is unknown. */
  readonly atRest: boolean;
  /** No source saw the car roll for a second, and the source that would see it first is being received. */
  readonly still: boolean;
  /** The receiver's newest speed is higher than noise makes it for a standing car. */
  readonly moves: boolean;
  /** The last half second (or longer) at the receiver was surely over 2.5 m/s2. */
  readonly hard: boolean;
  /** Speed that the receiver's noise may show for a standing car. */
  readonly restLevelMps: number;
}

export type LaunchEvent =
  | { readonly kind: "state"; readonly state: LaunchState; readonly tS: number }
  | PassedGate
  | { readonly kind: "ended"; readonly why: "lift" | "gates" | "stopped" | "abort"; readonly movementS: number; readonly endS: number };

export interface LaunchStates {
  readonly state: () => LaunchState;
  /** Start "movement" of the present or last launch, s; null before the first. */
  readonly movementS: () => number | null;
  readonly arm: (tS: number) => LaunchEvent[];
  /** Before a launch this disarms. In a launch it ends the run; then the passenger must arm again. */
  readonly abort: (tS: number) => LaunchEvent[];
  readonly push: (sample: LiveSample) => LaunchEvent[];
}

const SURELY_MPS = 10 * MPS_PER_KMH;
/** A launch is detected within this time of its start: the receiver's delay, one epoch, and the time to 0.5 m/s. */
const START_WITHIN_S = 1;
/** A movement that has not reached 10 km/h by then was not a launch; find-launches looks no further back either. */
const SURELY_WITHIN_S = 6;
/** This long after a movement began, the receiver's second at rest (with its delay) lies wholly after that beginning. */
const REST_TELLS_S = 1.6;

/**
 * When the car started: when the driven wheels rose through 0.5 km/h, which is some hundredths early. Without them, where the slope of
 * speed meets 0. The receiver's speeds come later than the car's by its delay and up to one epoch.
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

/** Whether a movement is a launch: more than half pedal or hard acceleration, and not backwards. Once true it stays true. */
function isMeant({ pedalPercent, hard, wheelSpeedMps }: LiveSample, before: boolean): boolean {
  if (wheelSpeedMps !== null && wheelSpeedMps < -STAND_MPS) return false;
  return before || hard || (pedalPercent !== null && pedalPercent > 50);
}

/** `gates`: those that are timed; the last of them ends a run. */
export function createLaunchStates({ gates = STANDARD_GATES }: { readonly gates?: readonly Gate[] } = {}): LaunchStates {
  let state: LaunchState = "idle";
  /** True while a launch may begin: the receiver was at rest, and any movement since then began only just now. Not shown to people. */
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

  /** At rest, or just leaving it: a movement that is a launch begins one; any other movement waits for the next rest. */
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
    // Speed between epochs is predicted. A prediction alone begins no launch.
    if (meant && moves) begin(sample, v, out);
    else if (tS - movingSinceS > MEANT_WITHIN_S) awaitRest();
  };

  /** In a launch: how it ends. Below 10 km/h it was a false start, and nothing of it is kept. */
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

  /**
   * People act on "standing". It ends as soon as the first source sees the car roll, long before a launch can be told from a gentle start.
   */
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
