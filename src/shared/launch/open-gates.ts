/**
 * The gates of the present launch, timed as the car passes them: causal, on straight lines between samples. A gate that is not passed stays
 * open; none fails.
 */
import { crossingBetween } from "../align/timed-lookup.ts";
import { M_PER_FOOT } from "../kernel/units.ts";
import { type Gate, type GateEnds, gateEnds } from "./gate.ts";
import type { StartName } from "./gate-result.ts";

interface OpenGate {
  readonly gate: Gate;
  readonly ends: GateEnds;
  readonly start: StartName;
  fromS: number | null;
  fromM: number;
}

export interface PassedGate {
  readonly kind: "gate";
  readonly gate: string;
  readonly start: StartName;
  readonly seconds: number;
  readonly atS: number;
}

/** A known ground speed `v`, m/s, at `tS`. */
interface SpeedAt {
  readonly tS: number;
  readonly v: number;
}

export interface OpenGates {
  /** A launch that began to move at `movementS` is detected at `now`. */
  begin(movementS: number, now: SpeedAt): void;
  /** The gates passed since `last`. */
  pass(last: SpeedAt, now: SpeedAt): PassedGate[];
  /** When the last of them was passed, s; null before. */
  readonly lastS: number | null;
}

export function createOpenGates(gates: readonly Gate[]): OpenGates {
  let open: OpenGate[] = [];
  let distanceM = 0;
  let lastS: number | null = null;

  function start(one: OpenGate, last: SpeedAt, { tS, v }: SpeedAt, beforeM: number): void {
    if (one.start === "1 ft" && one.fromS === null && distanceM >= M_PER_FOOT) {
      one.fromS = crossingBetween(last.tS, beforeM, tS, distanceM, M_PER_FOOT);
      one.fromM = M_PER_FOOT;
    }
    const { fromMps } = one.ends;
    if (fromMps !== null && one.fromS === null && v >= fromMps && last.v < fromMps) {
      one.fromS = crossingBetween(last.tS, last.v, tS, v, fromMps);
      one.fromM = distanceM;
    }
  }

  return {
    get lastS() {
      return lastS;
    },
    begin(movementS, { tS, v }) {
      distanceM = (v * (tS - movementS)) / 2;
      lastS = null;
      open = gates.flatMap((gate): OpenGate[] => {
        const ends = gateEnds(gate);
        // A stop is timed after the run.
        if (ends.to.what === "standing") return [];
        return ends.starts.map((start) => ({ gate, ends, fromS: start === "movement" ? movementS : null, start, fromM: 0 }));
      });
    },
    pass(last, now) {
      const { tS, v } = now;
      const passed: PassedGate[] = [];
      const before = distanceM;
      distanceM += ((v + last.v) / 2) * (tS - last.tS);
      for (const one of open) start(one, last, now, before);
      open = open.filter((one) => {
        const { to } = one.ends;
        if (one.fromS === null || to.what === "standing") return true;
        const level = to.what === "distance" ? one.fromM + to.m : to.mps;
        const [a, b] = to.what === "distance" ? [before, distanceM] : [last.v, v];
        if (!(b >= level)) return true;
        const atS = a < level ? crossingBetween(last.tS, a, tS, b, level) : tS;
        passed.push({ kind: "gate", gate: one.gate.name, start: one.start, seconds: atS - one.fromS, atS });
        return false;
      });
      if (open.length === 0) lastS ??= tS;
      return passed;
    },
  };
}
