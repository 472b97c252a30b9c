/** The input and the result of a launch fit: types only. */
import type { LaunchGrid, LaunchModel } from "./launch-model.ts";
import type { BinnedSensor, EpochObservations } from "./launch-observations.ts";

/** A sensor of speed times (1 + scale error). For a driven wheel, slip per Nm is added. */
export interface SpeedSensor {
  readonly bins: BinnedSensor;
  /** m/s of ground speed per unit, and its relative standard deviation. */
  readonly scale: number;
  readonly scaleSigma: number;
  /** Slip ratio expected in each bin (torque times slip stiffness); null for undriven wheels. */
  readonly slip: Float64Array | null;
  readonly slipSigma: number;
  /**
   * Speed by which the motor runs ahead of the road in each bin while shafts wind up, m/s, for a typical stiffness; null for undriven
   * wheels.
   */
  readonly wind: Float64Array | null;
}

export interface FitInput {
  readonly model: LaunchModel;
  readonly epochs: EpochObservations;
  readonly delay: { readonly mean: number; readonly sigma: number };
  readonly correlated: { readonly sigma: number; readonly timeS: number };
  readonly noiseKnown: boolean;
  readonly sensors: readonly SpeedSensor[];
  /** Start values for the model's parameters, where they differ from the prior means. */
  readonly start: readonly number[];
  /** Roughly when the car began to move: the knots of the disturbance begin here. */
  readonly onsetS: number;
  /** Error of the start that no parameter covers, s. Null: computed from how steeply the torque rose. */
  readonly shapeS: number | null;
  readonly disturbance: { readonly sigmas: readonly number[]; readonly correlationS: number };
}

export interface LaunchFit {
  readonly grid: LaunchGrid;
  readonly kind: LaunchModel["kind"];
  readonly speed: Float64Array;
  readonly acceleration: Float64Array;
  readonly distance: Float64Array;
  /** Change of speed at each grid point for one standard deviation of each independent direction. Covariance = sum of their products. */
  readonly speedModes: readonly Float64Array[];
  readonly theta: Float64Array;
  readonly names: readonly string[];
  readonly sigma: Float64Array;
  readonly logEvidence: number;
  /** Noise found over noise expected: epochs, sensors; disturbance relative to the model's acceleration. */
  readonly noise: { readonly epochs: number; readonly sensors: number; readonly disturbance: number; readonly standing: number };
}
