/** The journal's unit: bytes exactly as they arrived, and when. */
import type { TimeNs } from "../kernel/time.ts";

export interface Packet {
  readonly stream: "gnss" | "can";
  /** Since the recording's start, whole microseconds. */
  readonly arrivalNs: TimeNs;
  readonly bytes: Uint8Array;
}

/** How the bus bytes of a recording are written: an adapter's lines, or a log's. */
export type CanFormat = "slcan" | "candump";
