/**
 * Where bytes come from: a serial port or the simulated car. A started source never throws: it reports each problem in one line and keeps
 * trying.
 */
import type { SourceState } from "../../shared/contract/contract.ts";
import type { CanFormat, Packet } from "../../shared/pipeline/packet.ts";

export interface SourceReport {
  /** "fresh" means the port is open and the data speaks for itself. */
  readonly state: SourceState;
  readonly words: string;
}

export interface SourceListener {
  /** Bytes as they came; the listener may keep the array. `arrivalNs` is the clock's monotonic time. */
  onBytes(bytes: Uint8Array, arrivalNs: number): void;
  onReport(report: SourceReport): void;
  /** A hole in the stream that has ended, or that has begun and lasts (`toNs` null). Monotonic times. */
  onGap(cause: string, fromNs: number, toNs: number | null): void;
}

export interface ByteSource {
  readonly stream: Packet["stream"];
  readonly canFormat: CanFormat;
  start(listener: SourceListener): void;
  /** Closes the device; resolves when it is free again. */
  stop(): Promise<void>;
}
