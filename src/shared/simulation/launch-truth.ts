/** True gate times and slip of one launch, from the model's milliseconds. A gate that was not reached has null seconds and says why. */
import { KMH_PER_MPS, M_PER_FOOT, M_PER_MILE, MPS_PER_KMH, MPS_PER_MPH } from "../kernel/units.ts";

/** As in the JSON of `show`: seconds from the named start. */
export interface TrueGate {
  readonly gate: string;
  readonly start: "movement" | "1 ft" | "entry";
  readonly seconds: number | null;
  readonly exitSpeedKmh?: number;
  readonly distanceM?: number;
  readonly why?: string;
}

export interface LaunchTruth {
  readonly gates: readonly TrueGate[];
  readonly slip: {
    readonly peakSlipSpeedKmh: number | null;
    readonly peakSlipRatio: number | null;
    readonly secondsAbove10Percent: number | null;
  };
  /** True seconds since the trace's first sample. */
  readonly movementS: number | null;
}

/** Growing columns at 1 ms. */
export interface LaunchTrace {
  add(speedMps: number, distanceM: number, slipMps: number, pedalPercent: number): void;
  truth(): LaunchTruth;
}

const START_MPS = 0.5 * MPS_PER_KMH;
const RATIO_FROM_MPS = 10 * MPS_PER_KMH;
const STANDING: readonly (readonly [string, number])[] = [
  ["0-30 mph", 30 * MPS_PER_MPH],
  ["0-60 mph", 60 * MPS_PER_MPH],
  ["0-100 mph", 100 * MPS_PER_MPH],
  ["0-100 km/h", 100 * MPS_PER_KMH],
  ["0-200 km/h", 200 * MPS_PER_KMH],
];
const ROLLING: readonly (readonly [string, number, number])[] = [
  ["30-60 mph", 30 * MPS_PER_MPH, 60 * MPS_PER_MPH],
  ["60-100 mph", 60 * MPS_PER_MPH, 100 * MPS_PER_MPH],
  ["50-100 km/h", 50 * MPS_PER_KMH, 100 * MPS_PER_KMH],
  ["80-120 km/h", 80 * MPS_PER_KMH, 120 * MPS_PER_KMH],
];
const DISTANCES: readonly (readonly [string, number])[] = [
  ["60 ft", 60 * M_PER_FOOT],
  ["1/8 mile", M_PER_MILE / 8],
  ["1/4 mile", M_PER_MILE / 4],
];
const STOPS: readonly (readonly [string, number])[] = [
  ["60-0 mph", 60 * MPS_PER_MPH],
  ["100-0 km/h", 100 * MPS_PER_KMH],
];

/** Position in `column`, in samples with a fraction, where it first rises through `level` after `from`; null if never. */
function riseAt(column: readonly number[], level: number, from: number): number | null {
  for (let i = Math.max(1, Math.ceil(from)); i < column.length; i += 1) {
    const a = column[i - 1];
    const b = column[i];
    if (a < level && b >= level) return i - 1 + (level - a) / (b - a);
  }
  return null;
}

/** The last fall through `level` at or before sample `to`; null if never. */
function lastFallAt(column: readonly number[], level: number, to: number): number | null {
  for (let i = Math.min(column.length - 1, Math.floor(to)); i > 0; i -= 1) {
    const a = column[i - 1];
    const b = column[i];
    if (a > level && b <= level) return i - 1 + (a - level) / (a - b);
  }
  return null;
}

function valueAt(column: readonly number[], place: number): number {
  const i = Math.min(column.length - 2, Math.floor(place));
  const a = column[i];
  return a + (place - i) * (column[i + 1] - a);
}

/** The last rise through 0.5 km/h before the first gate; the lowest gates are 30 mph and 60 ft. */
function movementPlace(speed: readonly number[], distance: readonly number[]): number | null {
  let gatePlace = riseAt(speed, 30 * MPS_PER_MPH, 0) ?? speed.length - 1;
  for (;;) {
    let place: number | null = null;
    for (let i = 1; i <= gatePlace; i += 1) {
      const a = speed[i - 1];
      if (a < START_MPS && speed[i] >= START_MPS) place = i - 1 + (START_MPS - a) / (speed[i] - a);
    }
    if (place === null) return null;
    const sixtyFeet = riseAt(distance, valueAt(distance, place) + 60 * M_PER_FOOT, place);
    if (sixtyFeet === null || sixtyFeet >= gatePlace) return place;
    gatePlace = sixtyFeet;
  }
}

export function createLaunchTrace(): LaunchTrace {
  const speed: number[] = [];
  const distance: number[] = [];
  const slip: number[] = [];
  const pedal: number[] = [];

  function gates(movement: number | null): TrueGate[] {
    const out: TrueGate[] = [];
    const footPlace = movement === null ? null : riseAt(distance, valueAt(distance, movement) + M_PER_FOOT, movement);
    for (const [start, place] of [
      ["movement", movement],
      ["1 ft", footPlace],
    ] as const) {
      for (const [gate, level] of STANDING) {
        const end = place === null ? null : riseAt(speed, level, place);
        out.push(
          end === null || place === null
            ? { gate, start, seconds: null, why: "speed not reached" }
            : { gate, start, seconds: (end - place) / 1e3 },
        );
      }
      for (const [gate, metres] of DISTANCES) {
        const end = place === null ? null : insideRun(riseAt(distance, valueAt(distance, place) + metres, place));
        if (end === null || place === null) out.push({ gate, start, seconds: null, why: "distance not reached within the run" });
        else out.push({ gate, start, seconds: (end - place) / 1e3, exitSpeedKmh: valueAt(speed, end) * KMH_PER_MPS });
      }
    }
    for (const [gate, low, high] of ROLLING) {
      const from = movement === null ? null : riseAt(speed, low, movement);
      const to = from === null ? null : riseAt(speed, high, from);
      out.push(
        from === null || to === null
          ? { gate, start: "entry", seconds: null, why: "speed not reached" }
          : { gate, start: "entry", seconds: (to - from) / 1e3 },
      );
    }
    for (const [gate, level] of STOPS) {
      const stop = lastFallAt(speed, START_MPS, speed.length - 1);
      const from = stop === null ? null : lastFallAt(speed, level, stop);
      if (from === null || stop === null) out.push({ gate, start: "entry", seconds: null, why: "speed not reached" });
      else out.push({ gate, start: "entry", seconds: (stop - from) / 1e3, distanceM: valueAt(distance, stop) - valueAt(distance, from) });
    }
    return out;
  }

  /** Null for a position after the run's end, which is a pedal under 5 % for 1 s. */
  function insideRun(place: number | null): number | null {
    let released = 0;
    for (let i = 0; i < (place ?? 0); i += 1) {
      released = speed[i] > START_MPS && pedal[i] < 5 ? released + 1 : 0;
      if (released > 1000) return null;
    }
    return place;
  }

  function slipFigures(movement: number): LaunchTruth["slip"] {
    let top = Math.floor(movement);
    for (let i = top; i < speed.length; i += 1) if (speed[i] > speed[top]) top = i;
    let peakMps = 0;
    let peakRatio: number | null = null;
    let above = 0;
    for (let i = 0; i <= top; i += 1) {
      const mps = slip[i];
      peakMps = Math.max(peakMps, mps);
      if (speed[i] < RATIO_FROM_MPS) continue;
      const ratio = mps / speed[i];
      peakRatio = Math.max(peakRatio ?? ratio, ratio);
      if (ratio > 0.1) above += 1;
    }
    return {
      peakSlipSpeedKmh: peakMps * KMH_PER_MPS,
      peakSlipRatio: peakRatio,
      secondsAbove10Percent: peakRatio === null ? null : above / 1e3,
    };
  }

  return {
    add(speedMps, distanceM, slipMps, pedalPercent) {
      pedal.push(pedalPercent);
      speed.push(speedMps);
      distance.push(distanceM);
      slip.push(slipMps);
    },
    truth() {
      const movement = movementPlace(speed, distance);
      const unknown = { peakSlipSpeedKmh: null, peakSlipRatio: null, secondsAbove10Percent: null };
      return {
        gates: gates(movement),
        slip: movement === null ? unknown : slipFigures(movement),
        movementS: movement === null ? null : movement / 1e3,
      };
    },
  };
}
