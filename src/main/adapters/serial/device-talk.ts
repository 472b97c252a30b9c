/** How one kind of device is begun and listened to; the port itself is the reopening source's business. */
import type { SerialLine } from "./serial-line.ts";

interface TalkCounts {
  readonly bytes: number;
  /** Frames or sentences that were whole and right. */
  readonly valid: number;
}

/** One device between opening and closing of its port. */
export interface DeviceTalk {
  /** Brings the device to talk. Gives null, or in one line why it must not be listened to. Rejects when the port fails. */
  begin(line: SerialLine): Promise<string | null>;
  /** Bytes as they came; gives the part that belongs to the recording. */
  hear(bytes: Uint8Array, arrivalNs: number): Uint8Array | null;
  /** Before the port is closed in good order. */
  end(line: SerialLine): Promise<void>;
  readonly counts: TalkCounts;
  /** What people must know of a device that is listened to all the same; null when nothing. */
  readonly caution: string | null;
}
