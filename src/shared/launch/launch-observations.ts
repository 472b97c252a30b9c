/**
 * Collects what was measured in one launch, each source with its noise: receiver epochs, undriven wheels, motor speed. Unknown values (no
 * fix, below a sensor's threshold, stale) are left out, never read as 0.
 */
import { SIGMA_PER_MAD, median } from "../kernel/statistics.ts";
import type { AlignedRecording, TimedColumn } from "../align/aligned-recording.ts";
import type { Calibration } from "../align/calibration.ts";
import { indexAtOrBefore } from "../align/timed-lookup.ts";

export interface EpochObservations {
  readonly tS: Float64Array;
  readonly speedMps: Float64Array;
  /** White part of each epoch's noise, variance. */
  readonly whiteVariance: Float64Array;
}

/** Means of one sensor over short bins; the uncertainty of a mean comes from the scatter inside its bin. */
export interface BinnedSensor {
  readonly name: string;
  readonly tS: Float64Array;
  readonly value: Float64Array;
  readonly sigma: Float64Array;
}

export function epochObservations(
  recording: AlignedRecording,
  calibration: Calibration,
  whiteMps: number,
  fromS: number,
  toS: number,
): EpochObservations {
  const { epochs } = recording;
  const delay = calibration.gnssDelayS.value;
  const seen: number[] = [];
  for (let i = Math.max(0, indexAtOrBefore(epochs.tS, fromS + delay)); i < epochs.tS.length && epochs.tS[i] - delay <= toS; i++) {
    if (epochs.tS[i] - delay >= fromS && Number.isFinite(epochs.speedMps[i])) seen.push(i);
  }
  // A receiver that holds its speed at zero while standing says nothing about the first movement, so its zeros are left out.
  const kept = seen.filter((i) => epochs.speedMps[i] > 0);
  return {
    tS: Float64Array.from(kept, (i) => epochs.tS[i]),
    speedMps: Float64Array.from(kept, (i) => epochs.speedMps[i]),
    whiteVariance: new Float64Array(kept.length).fill(Math.max(whiteMps, 0.003) ** 2),
  };
}

/** Bins of about 20 ms in the first 1.5 s after startS, 60 ms later; readings under `least` (in the sensor's unit) are unknown. */
export function binSensor(column: TimedColumn, startS: number, fromS: number, toS: number, least: number): BinnedSensor {
  const begin = indexAtOrBefore(column.tS, fromS) + 1;
  const end = indexAtOrBefore(column.tS, toS) + 1;
  const noise = scatterOf(column, begin, end, least);
  const tS: number[] = [];
  const value: number[] = [];
  const sigma: number[] = [];
  let i = begin;
  while (i < end) {
    const width = column.tS[i] < startS + 1.5 ? 0.02 : 0.06;
    const limit = column.tS[i] + width - 1e-4;
    let n = 0;
    let sumT = 0;
    let sumV = 0;
    for (; i < end && (n === 0 || column.tS[i] < limit); i++) {
      if (!(column.value[i] > least)) {
        i++;
        break;
      }
      n++;
      sumT += column.tS[i];
      sumV += column.value[i];
    }
    if (n === 0) continue;
    tS.push(sumT / n);
    value.push(sumV / n);
    sigma.push(noise / Math.sqrt(n));
  }
  return { name: column.name, tS: Float64Array.from(tS), value: Float64Array.from(value), sigma: Float64Array.from(sigma) };
}

/** Noise of single readings from third differences. Smooth motion hardly changes these; their variance is 20 times that of one reading. */
function scatterOf(column: TimedColumn, begin: number, end: number, least: number): number {
  const { value } = column;
  const thirds: number[] = [];
  for (let i = begin; i + 3 < end; i++) {
    if (value[i] > least && value[i + 1] > least && value[i + 2] > least && value[i + 3] > least) {
      thirds.push(Math.abs(value[i + 3] - 3 * value[i + 2] + 3 * value[i + 1] - value[i]));
    }
  }
  const middle = median(thirds);
  const floor = Math.max(column.quantum / Math.sqrt(12), 1e-9);
  return Number.isFinite(middle) ? Math.max((SIGMA_PER_MAD * middle) / Math.sqrt(20), floor) : Math.max(column.quantum, 1e-3);
}
