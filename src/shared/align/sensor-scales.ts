/** Scales of single wheel sensors once the car's speed is calibrated. A sensor with too few readings keeps a wide, unknown scale. */
import { SIGMA_PER_MAD, TWO_SIDED_95, median } from "../kernel/statistics.ts";
import type { AlignedRecording } from "./aligned-recording.ts";
import type { Figure, WheelScale } from "./calibration.ts";
import type { DriveGrid } from "./drive-grid.ts";
import { type UndrivenMean, undrivenThresholdMps } from "./undriven-fit.ts";

const LEAST_RATIOS = 60;

/** Each undriven sensor's scale, from its ratio to their mean. */
export function undrivenScales(
  recording: AlignedRecording,
  undriven: UndrivenMean,
  scale: { readonly value: number; readonly sigma: number },
): WheelScale[] {
  return (recording.roles.undrivenWheelSpeeds ?? []).map((column, j) => {
    const value = scale.value * undriven.relative[j];
    const sigma = value * Math.hypot(scale.sigma / scale.value, undriven.relativeSigma[j] / undriven.relative[j]);
    return { name: column.name, value, plusMinus95: TWO_SIDED_95 * sigma, from: "calibrated" };
  });
}

/** Driven sensors against the motor, which turns with the mean of both wheels (open differential): slip cancels out. */
export function drivenScales(recording: AlignedRecording, grid: DriveGrid, radius: Figure): WheelScale[] {
  return (recording.roles.drivenWheelSpeeds ?? []).map((column, j) => {
    const ratios: number[] = [];
    for (let i = 0; i < grid.count; i += 5)
      if (grid.gentle[i] === 1 && Number.isFinite(grid.driven[j][i])) ratios.push(grid.spin[i] / grid.driven[j][i]);
    if (ratios.length < LEAST_RATIOS)
      return { name: column.name, value: column.unit === "rad/s" ? radius.value : 1, plusMinus95: 0.04, from: "unknown" };
    const centre = median(ratios);
    const spread = SIGMA_PER_MAD * median(ratios.map((ratio) => Math.abs(ratio - centre)));
    const value = radius.value * centre;
    const share = Math.hypot(radius.plusMinus95 / radius.value, (TWO_SIDED_95 * spread) / centre / Math.sqrt(ratios.length / 10));
    return { name: column.name, value, plusMinus95: value * share, from: "calibrated" };
  });
}

/** Greatest speed below which one of the undriven sensors reads 0 or nothing; 0 where none did. */
export function greatestThresholdMps(recording: AlignedRecording, scales: readonly WheelScale[], grid: DriveGrid, radiusM: number): number {
  const columns = recording.roles.undrivenWheelSpeeds ?? [];
  return Math.max(0, ...columns.map((column, j) => undrivenThresholdMps(column, scales[j]?.value ?? 1, grid, radiusM)));
}
