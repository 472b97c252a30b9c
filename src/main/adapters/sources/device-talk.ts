/** The interfaces for starting and reading one kind of device; opening it again and again is reopening-source.ts. */

/** An open way to a device: a port, a connection, a program. */
export interface DeviceLine {
  close(): Promise<void>;
}

export interface LineEars {
  readonly onBytes: (bytes: Uint8Array, arrivalNs: number) => void;
  /** Once, when the line has ended by itself. */
  readonly onClose: (why: string) => void;
}

interface TalkCounts {
  readonly bytes: number;
  /** Number of whole, valid frames or sentences. */
  readonly valid: number;
}

/** Why a device is not used, in one line. */
export interface Refusal {
  readonly words: string;
  /** Only the bus's bit rate was refused: another may be tried. */
  readonly bitrate: boolean;
}

/** "alive": the device answers and listens; "unsure": start it again; "dead": open its port again. */
type Liveness = "alive" | "unsure" | "dead";

/**
 * One device between opening and closing of its port. Waiting calls reject with the signal's reason once that is aborted, and when the port
 * fails.
 */
export interface DeviceTalk<Line extends DeviceLine> {
  /** Starts the device; null when it is ready. May be called again in the same opening. */
  begin(line: Line, signal: AbortSignal): Promise<Refusal | null>;
  /** Takes bytes as they came; gives the part that belongs to the recording. */
  hear(bytes: Uint8Array, arrivalNs: number): Uint8Array | null;
  /** Called when nothing came for long. */
  check(line: Line, signal: AbortSignal): Promise<Liveness>;
  /** Called before the port is closed normally. */
  end(line: Line): Promise<void>;
  /** Why something is missing before what was heard last, once; null or absent where nothing is known to be. */
  takeHole?(): string | null;
  readonly counts: TalkCounts;
  /** What people must know about a device that is used all the same; null when nothing. */
  readonly caution: string | null;
  /** Why it must not be used any longer; null while it may. */
  readonly refusal: Refusal | null;
}
