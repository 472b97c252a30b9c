/** How one kind of device is begun and listened to; the port itself is the reopening source's business. */
import type { SerialLine } from "./serial-line.ts";

interface TalkCounts {
  readonly bytes: number;
  /** Frames or sentences that were whole and right. */
  readonly valid: number;
}

/** Why a device is not listened to, in one line. */
export interface Refusal {
  readonly words: string;
  /** The bus's bit rate alone was refused: another may be tried. */
  readonly bitrate: boolean;
}

/** "alive": the device answers and listens; "unsure": begin it anew; "dead": open its port anew. */
type Liveness = "alive" | "unsure" | "dead";

/** One device between opening and closing of its port. What waits rejects with the signal's reason once that is aborted, and when the port fails. */
export interface DeviceTalk<Line extends SerialLine> {
  /** Brings the device to talk; null when it does. May be called again in the same opening. */
  begin(line: Line, signal: AbortSignal): Promise<Refusal | null>;
  /** Bytes as they came; gives the part that belongs to the recording. */
  hear(bytes: Uint8Array, arrivalNs: number): Uint8Array | null;
  /** Asked when nothing came for long. */
  check(line: Line, signal: AbortSignal): Promise<Liveness>;
  /** Before the port is closed in good order. */
  end(line: Line): Promise<void>;
  readonly counts: TalkCounts;
  /** What people must know of a device that is listened to all the same; null when nothing. */
  readonly caution: string | null;
  /** Why it must be listened to no longer; null while it may. */
  readonly refusal: Refusal | null;
}
