/**
 * One stored launch as this folder uses it: samples by name, the car's set-up, surface, times. A run without a single known speed is
 * allowed; its `endIndex` equals its `startIndex`.
 */
import type { Calibration } from "../align/calibration.ts";
import type { GateResult, StartName } from "../launch/gate-result.ts";
import type { DerivedRun, Flag, RunSamples } from "../run/run.ts";
import type { CarSetUp } from "../setup/set-up.ts";
import { type TuneSamples, tuneSamples } from "./tune-samples.ts";

/** What a book knows of a run. */
export interface TuneRunInput {
  readonly id: number;
  readonly label: string;
  /** What people noted; "surface" names the road. */
  readonly conditions: Readonly<Record<string, string>>;
  readonly figures: Omit<DerivedRun, "samples">;
  readonly samples: RunSamples;
  readonly car: CarSetUp;
  readonly calibrationId: number | null;
  readonly calibration: Calibration | null;
}

export interface TuneRun {
  readonly id: number;
  readonly label: string;
  /** As noted, in lower case; null where not noted. */
  readonly surface: string | null;
  readonly conditions: Readonly<Record<string, string>>;
  readonly measured: Readonly<Record<string, number | null>>;
  readonly flags: readonly Flag[];
  readonly gates: readonly GateResult[];
  /** Clockwise from north; null unknown. */
  readonly courseDeg: number | null;
  readonly car: CarSetUp;
  readonly calibrationId: number | null;
  readonly calibration: Calibration | null;
  /** Start "movement", and when the driver lifted, on the recording's base, s. */
  readonly movementS: number;
  readonly liftS: number;
  /** First row of the launch, and the row after its last: from movement to just before the lift. */
  readonly startIndex: number;
  readonly endIndex: number;
  readonly samples: TuneSamples;
}

/** The last rows before a lift already contain the foot's movement. */
const BEFORE_LIFT_S = 0.05;
const DOWN_PERCENT = 50;
const UP_PERCENT = 5;

/** The run of `input`. Never throws: what is missing stays NaN or null. */
export function tuneRun(input: TuneRunInput): TuneRun {
  const { figures, conditions } = input;
  const samples = tuneSamples(input.samples);
  const liftS = liftOf(samples, figures.movementS);
  const surface = conditions.surface?.trim().toLowerCase();
  const rowFrom = (fromS: number) => {
    const row = samples.tS.findIndex((t) => t >= fromS);
    return row < 0 ? samples.tS.length : row;
  };
  const startIndex = rowFrom(figures.movementS);
  return {
    id: input.id,
    label: input.label,
    surface: surface === undefined || surface === "" ? null : surface,
    conditions,
    measured: figures.measured,
    flags: figures.flags.filter((flag) => flag.overruled === undefined),
    gates: figures.gates,
    courseDeg: figures.courseDeg,
    car: input.car,
    calibrationId: input.calibrationId,
    calibration: input.calibration,
    movementS: figures.movementS,
    liftS,
    startIndex,
    endIndex: Math.max(startIndex, rowFrom(liftS - BEFORE_LIFT_S)),
    samples,
  };
}

/** The gate's result; undefined where the gate was not timed. */
export function gateOf(run: TuneRun, gate: string, start: StartName): GateResult | undefined {
  return run.gates.find((result) => result.gate === gate && result.start === start);
}

/** When the pedal was released after the launch; without a pedal signal, the peak of ground speed. */
function liftOf({ tS, pedalPercent, groundSpeedMps }: TuneSamples, movementS: number): number {
  let downS = Number.NaN;
  let top = -1;
  for (let i = 0; i < tS.length; i += 1) {
    if (tS[i] < movementS) continue;
    if (groundSpeedMps[i] > (top < 0 ? 0 : groundSpeedMps[top])) top = i;
    if (pedalPercent === null) continue;
    if (pedalPercent[i] >= DOWN_PERCENT) downS = tS[i];
    if (pedalPercent[i] < UP_PERCENT && downS > movementS) return downS;
  }
  if (Number.isFinite(downS)) return downS;
  return top < 0 ? movementS : tS[top];
}
