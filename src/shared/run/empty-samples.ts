/** Samples of a run that could not be fitted: times only, everything else unknown. */
import type { LaunchWindow } from "../launch/find-launches.ts";
import { GRID_S } from "../launch/launch-model.ts";
import type { RunSamples } from "./run.ts";

export function emptySamples(window: LaunchWindow): RunSamples {
  const count = Math.max(1, Math.floor((window.toS - window.fromS) / GRID_S + 1e-6) + 1);
  const unknown = () => new Float64Array(count).fill(Number.NaN);
  return {
    tS: Float64Array.from({ length: count }, (_, i) => window.fromS + i * GRID_S),
    groundSpeedMps: unknown(),
    groundSpeedSigmaMps: unknown(),
    wheelSpeedMps: unknown(),
    slipSpeedMps: unknown(),
    slipRatio: unknown(),
    slipSigma: unknown(),
    distanceM: unknown(),
    accelerationMps2: unknown(),
    roles: {},
  };
}
