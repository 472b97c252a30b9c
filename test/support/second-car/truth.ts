/** What really happened in a drive, in the design's definitions. A gate not reached has null seconds. */
import type { Trace } from "./dynamics.ts";
import { at } from "./dynamics.ts";
import type { Recipe } from "./recipe.ts";

/** 0.5 km/h, the design's movement speed. */
const MOVING_MPS = 0.5 / 3.6;
const MPH = 0.44704;
const KMH = 1 / 3.6;

interface TrueGate {
  readonly gate: string;
  readonly start: "movement" | "1 ft" | "entry";
  readonly seconds: number | null;
  readonly exitSpeedMps?: number;
}

export interface TrueLaunch {
  /** On the drive's own time, s. */
  readonly movementS: number;
  readonly control: boolean;
  readonly gates: readonly TrueGate[];
  readonly peakSlipRatio: number;
  readonly peakSlipMps: number;
  readonly fromS: number;
  readonly toS: number;
}

const STANDING: readonly (readonly [string, number])[] = [
  ["0-30 mph", 30 * MPH],
  ["0-60 mph", 60 * MPH],
  ["0-100 mph", 100 * MPH],
  ["0-100 km/h", 100 * KMH],
  ["0-200 km/h", 200 * KMH],
];
const ROLLING: readonly (readonly [string, number, number])[] = [
  ["30-60 mph", 30 * MPH, 60 * MPH],
  ["60-100 mph", 60 * MPH, 100 * MPH],
  ["50-100 km/h", 50 * KMH, 100 * KMH],
  ["80-120 km/h", 80 * KMH, 120 * KMH],
];
const DISTANCE: readonly (readonly [string, number])[] = [
  ["60 ft", 60 * 0.3048],
  ["1/8 mile", 1609.344 / 8],
  ["1/4 mile", 1609.344 / 4],
];
const STOPS: readonly (readonly [string, number])[] = [
  ["60-0 mph", 60 * MPH],
  ["100-0 km/h", 100 * KMH],
];

/** First time after `fromS` (and not after `toS`) that the column rises to `level`, s; null if it does not. */
function firstRise(trace: Trace, column: Float64Array, level: number, fromS: number, toS: number): number | null {
  const last = Math.min(trace.length - 1, Math.floor(toS / trace.stepS));
  for (let i = Math.max(1, Math.ceil(fromS / trace.stepS)); i <= last; i += 1) {
    if (column[i - 1] < level && column[i] >= level) {
      return (i - 1 + (level - column[i - 1]) / (column[i] - column[i - 1])) * trace.stepS;
    }
  }
  return null;
}

function lastCrossing(trace: Trace, level: number, fromS: number, toS: number, rising: boolean): number | null {
  const sign = rising ? 1 : -1;
  const v = trace.speedMps;
  for (let i = Math.min(trace.length - 1, Math.floor(toS / trace.stepS)); i > fromS / trace.stepS; i -= 1) {
    if (i >= 1 && sign * (v[i - 1] - level) < 0 && sign * (v[i] - level) >= 0) {
      return (i - 1 + (level - v[i - 1]) / (v[i] - v[i - 1])) * trace.stepS;
    }
  }
  return null;
}

function launchTruth(trace: Trace, recipe: Recipe, fromS: number, toS: number, stoppedS: number, control: boolean): TrueLaunch {
  const v = trace.speedMps;
  const first = firstRise(trace, v, STANDING[0][1], fromS, toS) ?? toS;
  const movementS = lastCrossing(trace, MOVING_MPS, fromS, first, true) ?? Number.NaN;
  const start = at(trace, trace.placeM, movementS);
  const footS = firstRise(trace, trace.placeM, start + 0.3048, movementS, toS) ?? Number.NaN;
  const gates: TrueGate[] = [];
  for (const [startName, startS] of [
    ["movement", movementS],
    ["1 ft", footS],
  ] as const) {
    for (const [gate, level] of STANDING) {
      const hit = firstRise(trace, v, level, startS, toS);
      gates.push({ gate, start: startName, seconds: hit === null ? null : hit - startS });
    }
    for (const [gate, distance] of DISTANCE) {
      const hit = firstRise(trace, trace.placeM, at(trace, trace.placeM, startS) + distance, startS, toS);
      gates.push(
        hit === null
          ? { gate, start: startName, seconds: null }
          : { gate, start: startName, seconds: hit - startS, exitSpeedMps: at(trace, v, hit) },
      );
    }
  }
  for (const [gate, low, high] of ROLLING) {
    const enter = firstRise(trace, v, low, fromS, toS);
    const leave = firstRise(trace, v, high, fromS, toS);
    gates.push({ gate, start: "entry", seconds: enter === null || leave === null ? null : leave - enter });
  }
  for (const [gate, level] of STOPS) {
    const enter = lastCrossing(trace, level, toS, stoppedS, false) ?? lastCrossing(trace, level, fromS, stoppedS, false);
    const leave = lastCrossing(trace, MOVING_MPS, fromS, stoppedS, false);
    gates.push({ gate, start: "entry", seconds: enter === null || leave === null ? null : leave - enter });
  }
  let peakSlipRatio = 0;
  let peakSlipMps = 0;
  for (let i = Math.ceil(fromS / trace.stepS); i < toS / trace.stepS; i += 1) {
    const slipMps = trace.wheelRadps[i] * recipe.car.rollingRadiusM - v[i];
    peakSlipMps = Math.max(peakSlipMps, slipMps);
    // Below 10 km/h the ratio is not shown.
    if (v[i] >= 10 * KMH) peakSlipRatio = Math.max(peakSlipRatio, slipMps / v[i]);
  }
  return { movementS, control, gates, peakSlipRatio, peakSlipMps, fromS, toS: stoppedS };
}

/** Every launch phase of the drive, in order. */
export function launchesOf(trace: Trace, recipe: Recipe): TrueLaunch[] {
  const found: TrueLaunch[] = [];
  trace.phases.forEach((span, i) => {
    if (span.phase.kind !== "launch") return;
    const after = trace.phases[i + 1];
    const stoppedS = after?.phase.kind === "stop" ? after.toS + trace.stepS : span.toS;
    found.push(launchTruth(trace, recipe, span.fromS, span.toS, stoppedS, span.phase.control));
  });
  return found;
}
