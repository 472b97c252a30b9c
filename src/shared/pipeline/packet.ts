/** The journal's unit: bytes exactly as they arrived, and their arrival time. */
import type { TimeNs } from "../kernel/time.ts";
import type { SetUp } from "../setup/set-up.ts";
import { isSerial } from "../setup/source-name.ts";

export interface Packet {
  readonly stream: "gnss" | "can";
  /** Since the recording's start, whole microseconds. */
  readonly arrivalNs: TimeNs;
  readonly bytes: Uint8Array;
}

/** The text format of a recording's bus bytes: an adapter's lines, or a log's. */
export type CanFormat = "slcan" | "candump";

/** The format in which a set-up's own source brings the bus. */
export const canFormatOf = ({ can }: SetUp["sources"]): CanFormat => (can === undefined || isSerial(can) ? "slcan" : "candump");
