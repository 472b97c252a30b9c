/** One random calibration drive, calibrated and held against its truth. A refused fit is counted, not thrown. */
import { alignRecording } from "../../src/shared/align/align-recording.ts";
import { calibrate } from "../../src/shared/align/calibrate.ts";
import type { Calibration } from "../../src/shared/align/calibration.ts";
import type { DriveClass } from "../support/second-car/recipe.ts";
import { drawRecipe } from "../support/second-car/recipe.ts";
import { recordDrive, setUpOf, tracksOf } from "../support/second-car/second-car.ts";
import type { Outcome } from "./tally.ts";

export interface CalibrationCase {
  readonly calibration: Calibration;
  /** Relative; null where the fit did not calibrate it. */
  readonly radius: Outcome | null;
  /** Seconds. */
  readonly delay: Outcome | null;
  /** Relative, one per undriven sensor. */
  readonly scales: readonly Outcome[];
}

/** Drives and calibrates one case of a class on the second car. */
export function calibrationCase(seed: number, kind: DriveClass): CalibrationCase {
  const recipe = drawRecipe(seed, { launches: 0, ...kind });
  const drive = recordDrive(recipe);
  const setUp = setUpOf(recipe);
  const calibration = calibrate(alignRecording(tracksOf(drive), setUp), setUp, null);
  const { truth } = drive;
  const { rollingRadiusM: radius, gnssDelayS: delay } = calibration;
  return {
    calibration,
    radius:
      radius.from === "calibrated"
        ? { error: radius.value / truth.rollingRadiusM - 1, plusMinus95: radius.plusMinus95 / truth.rollingRadiusM }
        : null,
    delay: delay.from === "calibrated" ? { error: delay.value - truth.gnssDelayS, plusMinus95: delay.plusMinus95 } : null,
    scales: calibration.undrivenScales
      .filter((s) => s.from === "calibrated")
      .map((s, i) => ({ error: s.value / truth.undrivenScales[i] - 1, plusMinus95: s.plusMinus95 / truth.undrivenScales[i] })),
  };
}
