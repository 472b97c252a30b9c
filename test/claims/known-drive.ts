/** What the claims need of any generator: decoded columns, set-up, truth on the recording's base. */
import { alignRecording } from "../../src/shared/align/align-recording.ts";
import type { AlignedRecording } from "../../src/shared/align/aligned-recording.ts";
import { calibrate } from "../../src/shared/align/calibrate.ts";
import type { Calibration } from "../../src/shared/align/calibration.ts";
import { estimateRun } from "../../src/shared/run/estimate-run.ts";
import { findLaunches } from "../../src/shared/launch/find-launches.ts";
import { type Gate, STANDARD_GATES } from "../../src/shared/launch/gate.ts";
import type { DerivedRun } from "../../src/shared/run/run.ts";
import type { SetUp } from "../../src/shared/setup/set-up.ts";
import type { RecordingTracks } from "../../src/shared/signals/tracks.ts";
import { at } from "../support/second-car/dynamics.ts";
import type { DriveClass } from "../support/second-car/recipe.ts";
import { drawRecipe } from "../support/second-car/recipe.ts";
import { recordDrive, type SecondCarDrive, setUpOf, tracksOf } from "../support/second-car/second-car.ts";
import { calibrationBound, launchBound } from "./bound.ts";

interface KnownGate {
  readonly gate: string;
  readonly start: string;
  readonly seconds: number | null;
}

export interface KnownLaunch {
  readonly gates: readonly KnownGate[];
  /** Base time from which and to which it was driven with the pedal down. */
  readonly movementS: number;
  readonly liftS: number;
  /** Cramer-Rao bound of the 0-60 mph time, s; NaN where this generator has none. */
  readonly boundS: number;
}

export interface KnownDrive {
  readonly tracks: RecordingTracks;
  readonly setUp: SetUp;
  readonly rollingRadiusM: number;
  readonly gnssDelayS: number;
  /** Bound of the delay over the gentle drive, s; NaN where there is none. */
  readonly delayBoundS: number;
  readonly launches: readonly KnownLaunch[];
  /** True axle slip speed as the motor turns it (docs/design.md: through the gear ratio), and ground speed, at a base time; null where not known. */
  readonly slipAt: ((baseS: number) => { slipMps: number; speedMps: number }) | null;
}

/** The bound's family has slip proportional to force: a launch whose wheels spin beyond this is none of it where motor speed counts. */
const MOST_FAMILY_SLIP = 0.15;

/** A drive of the second generator. */
export function secondCarDrive(seed: number, kind: DriveClass, withBound: boolean): KnownDrive {
  const drive = recordDrive(drawRecipe(seed, kind));
  return { ...knownOf(drive, withBound), tracks: tracksOf(drive) };
}

/** What is known of such a drive. */
export function knownOf(drive: SecondCarDrive, withBound: boolean): Omit<KnownDrive, "tracks"> {
  const { recipe, trace, truth } = drive;
  const shift = truth.baseShiftS;
  const { undriven, torque, motorSpeed } = recipe.bus;
  const perRad = recipe.car.rollingRadiusM / recipe.car.gearRatio;
  return {
    setUp: setUpOf(recipe),
    rollingRadiusM: truth.rollingRadiusM,
    gnssDelayS: truth.gnssDelayS,
    delayBoundS: trace.phases.some((p) => p.phase.kind === "gentle") ? calibrationBound(drive).delayS : Number.NaN,
    launches: truth.launches.map((launch) => ({
      gates: launch.gates,
      movementS: launch.movementS + shift,
      liftS: (trace.phases.find((p) => p.fromS === launch.fromS)?.toS ?? launch.toS) + shift,
      boundS:
        withBound && (!motorSpeed || launch.peakSlipRatio < MOST_FAMILY_SLIP)
          ? launchBound(drive, launch, { undriven, torque, motorSpeed })
          : Number.NaN,
    })),
    slipAt: (baseS) => {
      const speedMps = at(trace, trace.speedMps, baseS - shift);
      return { slipMps: at(trace, trace.motorRadps, baseS - shift) * perRad - speedMps, speedMps };
    },
  };
}

export interface Derived {
  readonly recording: AlignedRecording;
  readonly calibration: Calibration;
  readonly runs: readonly DerivedRun[];
}

/** Gates of a launch alone: a stop is fitted by itself, costs as much as the launch, and changes nothing of it. */
export const LAUNCH_GATES = STANDARD_GATES.filter(({ kind }) => kind !== "stop");

/** Aligned, calibrated and timed as import does it. */
export function derive(tracks: RecordingTracks, setUp: SetUp, gates: readonly Gate[] = STANDARD_GATES): Derived {
  const recording = alignRecording(tracks, setUp);
  const calibration = calibrate(recording, setUp, null);
  const windows = findLaunches(recording, calibration, setUp, []);
  const runs = windows.map((window, i) => estimateRun({ recording, calibration, setUp, window, gates, uid: `case-${i}` }));
  return { recording, calibration, runs };
}
