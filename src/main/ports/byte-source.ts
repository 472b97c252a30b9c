/** Where bytes come from: a serial port or the simulated car. A source never throws later: trouble is reported in one line while it goes on trying. */
import type { SourceState } from "../../shared/contract/contract.ts";
import type { CanFormat, Packet } from "../../shared/pipeline/packet.ts";

export interface SourceReport {
  /** "fresh" means the port is open and the data speaks for itself. */
  readonly state: SourceState;
  readonly words: string;
}

export interface SourceListener {
  /** Bytes as they came; the array is the listener's to keep. `arrivalNs` is the clock's monotonic time. */
  onBytes(bytes: Uint8Array, arrivalNs: number): void;
  onReport(report: SourceReport): void;
  /** A hole in the stream that is over, or that began and lasts (`toNs` null). Monotonic times. */
  onGap(cause: string, fromNs: number, toNs: number | null): void;
}

export interface ByteSource {
  readonly stream: Packet["stream"];
  readonly canFormat: CanFormat;
  start(listener: SourceListener): void;
  /** Closes the device; resolves when it is free again. */
  stop(): Promise<void>;
}
