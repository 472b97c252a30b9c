/** A recording on one time base, seconds since its first packet: the input of calibration and of runs. */
import type { ListRole, SingleRole } from "../setup/roles.ts";
import type { EpochTrack, StreamGap } from "../signals/tracks.ts";

/** Values on the time base of the bus frames. `tS` never falls. */
export interface TimedColumn {
  readonly name: string;
  readonly tS: Float64Array;
  readonly value: Float64Array;
  readonly quantum: number;
  readonly unit: string;
  /** Times of repeated readings that were left out; absent where there were none. */
  readonly repeatedS?: Float64Array;
}

/** How well one source's clock is fitted to the base. */
export interface ClockFitSummary {
  readonly method: "stamps" | "arrival";
  /** Rate of the source's clock against the host's, parts per million. */
  readonly driftPpm: number;
  /** Standard deviation of one mapped time, s. */
  readonly sigmaS: number;
  /** The part of sigmaS that all times share, s: averaging does not reduce it. */
  readonly sharedSigmaS: number;
  /** Typical (median) and greatest delay above the envelope, s: the jitter that was removed. */
  readonly medianDelayS: number;
  readonly worstDelayS: number;
  readonly segments: number;
}

/** Receiver epochs. `tS` is the epoch's UTC on the base by the lower envelope; the receiver's delay is NOT removed. */
export interface AlignedEpochs extends Omit<EpochTrack, "arrivalNs"> {
  readonly tS: Float64Array;
  /** Times of repeated epochs that were left out; absent where there were none. */
  readonly repeatedS?: Float64Array;
}

export type AlignedRoles = { [role in SingleRole]?: TimedColumn } & { [role in ListRole]?: TimedColumn[] };

export interface AlignedRecording {
  readonly roles: AlignedRoles;
  readonly epochs: AlignedEpochs;
  readonly clocks: { readonly can: ClockFitSummary | null; readonly gnss: ClockFitSummary | null };
  /** utcMs = utcAtZeroMs + 1000 * tS * (1 + utcDrift); null without a dated epoch. */
  readonly utcAtZeroMs: number | null;
  readonly utcDrift: number;
  readonly gaps: readonly StreamGap[];
  readonly endS: number;
}
