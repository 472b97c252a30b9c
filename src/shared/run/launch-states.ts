/**
 * The launch as it happens: a causal state machine fed sample by sample. Its gate times are provisional; find-launches and
 * estimate-run replace them. Unknown ground speed moves nothing: what cannot be seen is not timed.
 */
import { M_PER_FOOT, MPS_PER_KMH } from "../kernel/units.ts";
import { type Gate, STANDARD_GATES } from "./gate.ts";
import type { StartName } from "./run.ts";
import { crossingBetween } from "./timed-lookup.ts";

export type LaunchState = "idle" | "armed" | "standing" | "launched" | "done" | "aborted";

/** What is known at one instant, SI units; null where unknown or stale. Samples come in order of time. */
export interface LiveSample {
  readonly tS: number;
  readonly groundSpeedMps: number | null;
  /** Signed: below 0 while reversing. */
  readonly wheelSpeedMps: number | null;
  readonly pedalPercent: number | null;
  readonly accelerationMps2: number | null;
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
  readonly start: StartName;
  fromS: number | null;
  fromM: number;
}

const STAND_MPS = 0.5 * MPS_PER_KMH;
const SURELY_MPS = 10 * MPS_PER_KMH;
const STAND_FOR_S = 1;
const MEANT_WITHIN_S = 3;

/** `restLevelMps`: what a standing receiver's noise may add to the 0.5 km/h of standing (2.5 of its sigma). `plannedRuns`: after so many it goes idle. */
export function createLaunchStates({
  gates = STANDARD_GATES,
  restLevelMps = 0.1,
  plannedRuns = Number.POSITIVE_INFINITY,
}: {
  readonly gates?: readonly Gate[];
  readonly restLevelMps?: number;
  readonly plannedRuns?: number;
} = {}): LaunchStates {
  const rest = STAND_MPS + restLevelMps;
  let state: LaunchState = "idle";
  let runs = 0;
  let standingSinceS: number | null = null;
  let movementS: number | null = null;
  let movingSinceS: number | null = null;
  let meant = false;
  let fastSinceS: number | null = null;
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
    runs++;
    standingSinceS = null;
    movingSinceS = null;
    enter(why === "abort" ? "aborted" : "done", tS, out);
    if (why !== "abort" && runs >= plannedRuns) enter("idle", tS, out);
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
      if (one.gate.kind === "rolling" && one.fromS === null && v >= one.gate.fromMps && last.v < one.gate.fromMps) {
        one.fromS = crossingBetween(last.tS, last.v, tS, v, one.gate.fromMps);
      }
    }
    open = open.filter((one) => {
      if (one.fromS === null || one.gate.kind === "stop" || !last) return true;
      const byDistance = one.gate.kind === "distance";
      const level = one.gate.kind === "distance" ? one.fromM + one.gate.distanceM : one.gate.toMps;
      const [a, b] = byDistance ? [before, distanceM] : [last.v, v];
      if (!(b >= level)) return true;
      const atS = a < level ? crossingBetween(last.tS, a, tS, b, level) : tS;
      out.push({ kind: "gate", gate: one.gate.name, start: one.start, seconds: atS - one.fromS, atS });
      return false;
    });
    if (open.length === 0) lastGateS ??= tS;
  };

  const begin = (tS: number, out: LaunchEvent[]) => {
    movementS = movingSinceS ?? tS;
    distanceM = 0;
    lastGateS = null;
    liftedSinceS = null;
    surely = false;
    const from = movementS;
    open = gates.flatMap((gate): OpenGate[] => {
      if (gate.kind === "stop") return [];
      if (gate.kind === "rolling") return [{ gate, fromS: null, start: "entry", fromM: 0 }];
      return [
        { gate, fromS: from, start: "movement", fromM: 0 },
        { gate, fromS: null, start: "1 ft", fromM: 0 },
      ];
    });
    enter("launched", tS, out);
  };

  const stand = (tS: number, v: number, out: LaunchEvent[]) => {
    if (v < rest) {
      standingSinceS ??= tS;
      movingSinceS = null;
      meant = false;
      fastSinceS = null;
      if ((state === "armed" || state === "done") && tS - standingSinceS >= STAND_FOR_S) enter("standing", tS, out);
    } else {
      if (state === "standing")
        movingSinceS ??= last ? crossingBetween(last.tS, last.v, tS, v, Math.max(STAND_MPS, Math.min(rest, last.v))) : tS;
      standingSinceS = null;
    }
  };

  return {
    state: () => state,
    movementS: () => movementS,
    arm: (tS) => {
      const out: LaunchEvent[] = [];
      if (state === "idle" || state === "aborted" || state === "done") {
        standingSinceS = null;
        enter("armed", tS, out);
      }
      return out;
    },
    abort: (tS) => {
      const out: LaunchEvent[] = [];
      if (state === "launched") end("abort", tS, out);
      else if (state !== "idle") enter("idle", tS, out);
      return out;
    },
    push: ({ tS, groundSpeedMps: v, wheelSpeedMps, pedalPercent, accelerationMps2 }) => {
      const out: LaunchEvent[] = [];
      if (v === null || !Number.isFinite(v) || (last && tS <= last.tS)) return out;
      if (state === "launched") {
        passGates(tS, v, out);
        if (v >= SURELY_MPS) surely = true;
        if (pedalPercent !== null) liftedSinceS = pedalPercent < 5 ? (liftedSinceS ?? tS) : null;
        if (v < rest) {
          // It moved a little and stopped: a false start, not a run.
          if (surely) end("stopped", tS, out);
          else {
            movementS = null;
            movingSinceS = null;
            standingSinceS = tS;
            meant = false;
            enter("armed", tS, out);
          }
        } else if (liftedSinceS !== null && tS - liftedSinceS >= 1) end("lift", tS, out);
        else if (lastGateS !== null && tS - lastGateS >= 1) end("gates", tS, out);
      } else if (state !== "idle" && state !== "aborted") {
        stand(tS, v, out);
        if (state === "standing" && movingSinceS !== null) {
          if (pedalPercent !== null && pedalPercent > 50) meant = true;
          fastSinceS = accelerationMps2 !== null && accelerationMps2 > 2.5 ? (fastSinceS ?? tS) : null;
          if (fastSinceS !== null && tS - fastSinceS >= 0.5) meant = true;
          if (wheelSpeedMps !== null && wheelSpeedMps < -STAND_MPS) meant = false;
          if (meant) begin(tS, out);
          // Driving off without meaning it: wait for the next standing.
          else if (tS - movingSinceS > MEANT_WITHIN_S) enter("armed", tS, out);
        }
      }
      last = { tS, v };
      return out;
    },
  };
}
