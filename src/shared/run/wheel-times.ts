/**
 * The same gates timed by the driven wheels alone, to show how much a spinning wheel would improve the time. Null where wheel speed is
 * unknown.
 */
import { M_PER_FOOT } from "../kernel/units.ts";
import { type Gate, gateEnds } from "../launch/gate.ts";
import { MOVEMENT_MPS } from "../launch/gate-times.ts";
import type { StartName } from "../launch/gate-result.ts";
import type { RunSamples } from "./run.ts";
import { crossingBetween } from "../align/timed-lookup.ts";

/** Seconds of a gate by the wheels, from their own start near `movementS`; null when not reached or unknown. */
export function wheelSecondsOf(samples: RunSamples, gate: Gate, start: StartName, movementS: number, endS: number): number | null {
  const { tS, wheelSpeedMps: w } = samples;
  const rise = (level: number, fromS: number): number | null => {
    for (let i = 1; i < tS.length && tS[i] <= endS; i++)
      if (tS[i] > fromS && w[i] >= level && w[i - 1] < level) return crossingBetween(tS[i - 1], w[i - 1], tS[i], w[i], level);
    return null;
  };
  const begin = rise(MOVEMENT_MPS, movementS - 1);
  if (begin === null) return null;
  const travel = (metres: number, fromS: number): number | null => {
    let x = 0;
    for (let i = 1; i < tS.length && tS[i] <= endS; i++) {
      if (tS[i] <= fromS) continue;
      const part = Math.min(tS[i] - tS[i - 1], tS[i] - fromS);
      const step = ((w[i] + w[i - 1]) / 2) * part;
      if (!Number.isFinite(step)) return null;
      if (x + step >= metres) return tS[i] - part + (part * (metres - x)) / step;
      x += step;
    }
    return null;
  };
  const from = start === "1 ft" ? travel(M_PER_FOOT, begin) : begin;
  if (from === null) return null;
  const until = (reachedS: number | null, sinceS: number) => (reachedS === null ? null : reachedS - sinceS);
  const { fromMps, to } = gateEnds(gate);
  const since = fromMps === null ? from : rise(fromMps, begin);
  if (since === null || to.what === "standing") return null;
  return until(to.what === "speed" ? rise(to.mps, since) : travel(to.m, since), since);
}
