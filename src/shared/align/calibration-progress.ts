/**
 * Guided calibration: what has been driven, what to drive next, how far the intervals have narrowed; and whether a stored calibration still
 * fits the car. Pure; makes no statement about what is unknown.
 */
import { quantile } from "../kernel/statistics.ts";
import { KMH_PER_MPS, STANDARD_GRAVITY_MPS2 } from "../kernel/units.ts";
import { saidKmh, saidSpeed } from "../kernel/shown-units.ts";
import type { SetUp } from "../setup/set-up.ts";
import type { AlignedRecording } from "./aligned-recording.ts";
import type { Calibration } from "./calibration.ts";
import { buildDriveGrid, GRID_STEP_S } from "./drive-grid.ts";

/** Half widths at which a calibration is as good as docs/design.md asks (0.1 % of radius; 5 ms RMS is 10 ms at 95 %). */
const GOOD_RADIUS_SHARE = 0.002;
const GOOD_DELAY_S = 0.01;
/** Seconds wanted of each kind of driving. Kinds overlap, so together this is a little over the 120 s of docs/design.md. */
const WANTED_S = 40;
const WANTED_COASTING_S = 15;
const FASTER_BY_MPS = 40 / KMH_PER_MPS;
/** Torque above or below zero that counts as driving or slowing, as a share of the car's weight. */
const LEAST_FORCE_SHARE = 0.01;
const STEADY_HOLD_MPS2 = 0.3;
/**
 * A free-rolling ratio that differs by this much means another tyre or pressure, not noise (a tenth of a bar is about 0.1 %, from memory).
 */
const STALE_SHARE = 0.002;

type StepName = "slow" | "fast" | "coasting";

interface CalibrationStep {
  readonly name: StepName;
  /** What to do, for the passenger to read out. */
  readonly words: string;
  readonly seconds: number;
  readonly wantedSeconds: number;
}

export interface CalibrationProgress {
  readonly steps: readonly CalibrationStep[];
  /** The step to drive next; null when all are driven. */
  readonly next: StepName | null;
  /** 0 to 1. */
  readonly share: number;
  /** Both figures are as good as asked for: the calibration may be accepted. */
  readonly good: boolean;
  readonly radiusPlusMinus95M: number;
  readonly delayPlusMinus95S: number;
  /** True if the drive accelerates too gently to determine the delay. */
  readonly tooSteady: boolean;
}

/** Progress of a drive so far, with the calibration fitted on it. */
export function calibrationProgress(recording: AlignedRecording, setUp: SetUp, calibration: Calibration): CalibrationProgress {
  const radius = calibration.rollingRadiusM;
  const grid = buildDriveGrid(recording, setUp, { radiusM: radius.value, undriven: calibration.undrivenScales[0]?.value ?? 1 });
  const speeds: number[] = [];
  let [coastingS, squares] = [0, 0];
  if (grid !== null) {
    const least = LEAST_FORCE_SHARE * setUp.car.massKg * STANDARD_GRAVITY_MPS2 * (radius.value / setUp.car.gearRatio);
    // Without motor speed the undriven wheels show the driven speed; without either nothing does.
    const turning = grid.known.motorSpeed || grid.undriven.length === 0 ? grid.spin : grid.undriven[0];
    const scale = turning === grid.spin ? radius.value : (calibration.undrivenScales[0]?.value ?? 1);
    for (let i = 1; i < grid.count; i++) {
      const step = turning[i] - turning[i - 1];
      if (grid.gentle[i] === 0 || !Number.isFinite(step)) continue;
      speeds.push(turning[i] * scale);
      if (grid.torqueNm[i] < -least) coastingS += GRID_STEP_S;
      squares += ((step * scale) / GRID_STEP_S) ** 2;
    }
  }
  const tooSteady = speeds.length > 0 && Math.sqrt(squares / speeds.length) < STEADY_HOLD_MPS2;
  // The slowest tenth is left out, so that a few seconds of driving off do not set the lower speed.
  const slowest = speeds.length === 0 ? Number.POSITIVE_INFINITY : quantile(speeds, 0.1);
  const fastFrom = slowest + FASTER_BY_MPS;
  const slowS = speeds.filter((speed) => speed < slowest + FASTER_BY_MPS / 2).length * GRID_STEP_S;
  const fastS = speeds.filter((speed) => speed >= fastFrom).length * GRID_STEP_S;
  const fastWords = Number.isFinite(fastFrom)
    ? `above ${saidKmh(Math.ceil((fastFrom * KMH_PER_MPS) / 5) * 5)}`
    : `at least ${saidSpeed(FASTER_BY_MPS)} faster than that`;
  const steps: CalibrationStep[] = [
    {
      name: "slow",
      words: `Straight on at 30 to ${saidKmh(45)}, gently on and off the pedal, no brakes.`,
      seconds: slowS,
      wantedSeconds: WANTED_S,
    },
    { name: "fast", words: `The same ${fastWords}, where that is allowed.`, seconds: fastS, wantedSeconds: WANTED_S },
    { name: "coasting", words: "Let the motor slow the car, without the brakes.", seconds: coastingS, wantedSeconds: WANTED_COASTING_S },
  ];
  const shares = steps.map((step) => Math.min(1, step.seconds / step.wantedSeconds));
  const next = steps.find((_, i) => shares[i] < 1)?.name ?? null;
  const { gnssDelayS } = calibration;
  const good =
    radius.from === "calibrated" &&
    gnssDelayS.from === "calibrated" &&
    radius.plusMinus95 <= GOOD_RADIUS_SHARE * radius.value &&
    gnssDelayS.plusMinus95 <= GOOD_DELAY_S;
  return {
    steps,
    next,
    share: shares.reduce((sum, share) => sum + share, 0) / shares.length,
    good,
    radiusPlusMinus95M: radius.plusMinus95,
    delayPlusMinus95S: gnssDelayS.plusMinus95,
    tooSteady,
  };
}

/** What a person noted of the tyres, when a calibration was stored or now; null where not noted. */
export interface TyreNotes {
  readonly tyres: string | null;
  readonly pressureKpa: number | null;
}

/** A pressure difference that changes the rolling radius by about the width of the intervals asked for (from memory). */
const PRESSURE_STEP_KPA = 20;

export interface StalenessInput {
  readonly stored: Calibration;
  /** Fitted on newer driving; null where there is none. */
  readonly now: Calibration | null;
  readonly storedTyres: TyreNotes;
  readonly tyresNow: TyreNotes;
}

/** Reasons why a stored calibration should be driven again, one sentence each; empty when there are none. */
export function stalenessOf({ stored, now, storedTyres, tyresNow }: StalenessInput): string[] {
  const reasons: string[] = [];
  if (storedTyres.tyres !== null && tyresNow.tyres !== null && storedTyres.tyres.trim() !== tyresNow.tyres.trim()) {
    reasons.push(`Tyres changed from ${storedTyres.tyres.trim()} to ${tyresNow.tyres.trim()} since the calibration: calibrate again.`);
  }
  if (
    storedTyres.pressureKpa !== null &&
    tyresNow.pressureKpa !== null &&
    Math.abs(storedTyres.pressureKpa - tyresNow.pressureKpa) >= PRESSURE_STEP_KPA
  ) {
    reasons.push(
      `Tyre pressure is ${tyresNow.pressureKpa} kPa, it was ${storedTyres.pressureKpa} kPa at the calibration: calibrate again.`,
    );
  }
  const moved = now === null ? null : ratioMoved(stored, now);
  if (moved !== null && Math.abs(moved.share) > STALE_SHARE + moved.plusMinus95) {
    reasons.push(
      `${moved.what} moved by ${(100 * moved.share).toFixed(2)} % since the calibration: tyres or pressure differ, calibrate again.`,
    );
  }
  return reasons;
}

/** Driven radius over undriven scale does not depend on the receiver. Without undriven wheels the radius itself is compared. */
function ratioMoved(stored: Calibration, now: Calibration): { share: number; plusMinus95: number; what: string } | null {
  if (stored.rollingRadiusM.from !== "calibrated" || now.rollingRadiusM.from !== "calibrated") return null;
  const shareOf = (figure: { value: number; plusMinus95: number }) => figure.plusMinus95 / figure.value;
  const plusMinus95 = Math.hypot(shareOf(stored.rollingRadiusM), shareOf(now.rollingRadiusM));
  const radiusShare = now.rollingRadiusM.value / stored.rollingRadiusM.value;
  const pairs = now.undrivenScales.flatMap((scale) => {
    const before = stored.undrivenScales.find((each) => each.name === scale.name);
    return before !== undefined && before.from === "calibrated" && scale.from === "calibrated" ? [scale.value / before.value] : [];
  });
  if (pairs.length === 0) return { share: radiusShare - 1, plusMinus95, what: "Rolling radius" };
  const undriven = pairs.reduce((sum, pair) => sum + pair, 0) / pairs.length;
  return { share: radiusShare / undriven - 1, plusMinus95, what: "The free-rolling ratio of driven to undriven wheels" };
}
