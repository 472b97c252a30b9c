/** What decoding one recording gives: columns of values with their raw times, in arrival order. Nothing is interpolated. */
import type { ListRole, SingleRole } from "../setup/roles.ts";

/** One bus signal over a recording. All columns have the same length. */
export interface SignalTrack {
  /** "Message.Signal", for messages to people. */
  readonly name: string;
  /** Arrival of the packet that held the frame's first byte, ns on the recording's base. */
  readonly arrivalNs: Float64Array;
  /** Adapter stamp unwrapped over the whole recording, ms; NaN where the frame had none. */
  readonly adapterMs: Float64Array;
  /** Number of the adapter clock's segment that the stamp belongs to; a restarted clock begins a new one. */
  readonly clockSegment: Uint16Array;
  /** Physical value in the role's SI unit (setup/roles.ts), inversion applied. */
  readonly value: Float64Array;
  /** Least step of the value in the same unit; 0 where the signal is floating point. */
  readonly quantum: number;
  /** "m/s" or "rad/s" for wheel speeds, the role's unit otherwise. */
  readonly unit: string;
}

export type Fix = "none" | "2d" | "3d" | "differential" | "rtkFloat" | "rtkFixed" | "estimated";

/** Receiver epochs as columns of one length; NaN where unknown. */
export interface EpochTrack {
  /** Arrival of the epoch's first byte, ns on the recording's base. */
  readonly arrivalNs: Float64Array;
  /** Bytes of the whole epoch's burst as seen, for line-load checks. */
  readonly burstBytes: Float64Array;
  /** UTC ms since 1970. Where the date is unknown, the time of day counted on past midnight (`dated` false). */
  readonly utcMs: Float64Array;
  readonly dated: boolean;
  readonly speedMps: Float64Array;
  /** Step between neighbouring speeds that the sentence can print, m/s (rounding error is at most half of it). */
  readonly speedQuantumMps: Float64Array;
  readonly courseDeg: Float64Array;
  readonly latDeg: Float64Array;
  readonly lonDeg: Float64Array;
  readonly altM: Float64Array;
  readonly hdop: Float64Array;
  readonly satellites: Float64Array;
  readonly fix: readonly Fix[];
}

export type RoleTracks = { [role in SingleRole]?: SignalTrack } & { [role in ListRole]?: SignalTrack[] };

/** Least arrival delay in each stretch of adapter time: all that the clock fit needs. */
export interface ClockObservations {
  readonly adapterMs: Float64Array;
  readonly arrivalNs: Float64Array;
  readonly clockSegment: Uint16Array;
}

/** A span without data, or with unreadable data, that people must be told of. */
export interface StreamGap {
  readonly stream: "gnss" | "can";
  readonly fromNs: number;
  readonly toNs: number;
  readonly cause: string;
}

export interface RecordingTracks {
  readonly roles: RoleTracks;
  readonly busClock: ClockObservations;
  readonly epochs: EpochTrack;
  readonly gaps: readonly StreamGap[];
  readonly endNs: number;
}
