/** What a launch fit takes in and gives back: types only. */
import type { LaunchGrid, LaunchModel } from "./launch-model.ts";
import type { BinnedSensor, EpochObservations } from "./launch-observations.ts";

/** A sensor that shows speed times (1 + scale error), or, for a driven wheel, with slip per Nm on top. */
export interface SpeedSensor {
  readonly bins: BinnedSensor;
  /** m/s of ground speed per unit, and its relative standard deviation. */
  readonly scale: number;
  readonly scaleSigma: number;
  /** Slip ratio expected at each bin (torque times slip stiffness); null for undriven wheels. */
  readonly slip: Float64Array | null;
  readonly slipSigma: number;
  /** Speed by which shafts winding up lead the road at each bin, m/s, for a typical stiffness; null for undriven wheels. */
  readonly wind: Float64Array | null;
}

export interface FitInput {
  readonly model: LaunchModel;
  readonly epochs: EpochObservations;
  readonly delay: { readonly mean: number; readonly sigma: number };
  readonly correlated: { readonly sigma: number; readonly timeS: number };
  readonly noiseKnown: boolean;
  readonly sensors: readonly SpeedSensor[];
  /** Start values other than the prior means, for the model's parameters. */
  readonly start: readonly number[];
  /** Roughly when it began to move: knots of the disturbance begin here. */
  readonly onsetS: number;
  /** Error of the start that no parameter holds, s; null: by how steeply the torque rose. */
  readonly shapeS: number | null;
  readonly disturbance: { readonly sigmas: readonly number[]; readonly correlationS: number };
}

export interface LaunchFit {
  readonly grid: LaunchGrid;
  readonly kind: LaunchModel["kind"];
  readonly speed: Float64Array;
  readonly acceleration: Float64Array;
  readonly distance: Float64Array;
  /** Change of speed at each grid point for one standard deviation of each independent direction: covariance = sum of products. */
  readonly speedModes: readonly Float64Array[];
  readonly theta: Float64Array;
  readonly names: readonly string[];
  readonly sigma: Float64Array;
  readonly logEvidence: number;
  /** Noise found against noise expected: epochs, sensors; disturbance relative to the model's acceleration. */
  readonly noise: { readonly epochs: number; readonly sensors: number; readonly disturbance: number; readonly standing: number };
}
