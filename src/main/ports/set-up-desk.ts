/** What making a set-up needs from the machine: its file, its signal files, and listening on serial ports. Failures throw one line. */
import type { PortFound, PortTrouble } from "../../shared/contract/wiring-contract.ts";
import type { SlcanSource } from "../../shared/setup/set-up.ts";
import type { WrittenDraft } from "../../shared/setup/set-up-text.ts";
import type { SignalFileText } from "./book.ts";

export interface SetUpStore {
  readonly file: string;
  /** The present set-up; an empty one where the file does not exist yet. */
  read(): WrittenDraft;
  /** The text of a set-up's signal files. */
  signalFiles(names: readonly string[]): SignalFileText[];
  /** Durable when it returns: a reader sees the old file or the new one, complete. */
  write(text: string): void;
  /** Stores a signal file beside the set-up and returns its name there; another file of that name is not changed. */
  addSignalFile(name: string, text: string): string;
}

/** The person's own car as it was last measured. */
export interface LastCar {
  readonly setUpFile: string;
  readonly bookFile: string;
  /** Empty while it has no name. */
  readonly car: string;
}

export interface HeardPort {
  readonly trouble: PortTrouble | null;
  readonly words: string;
  /** A baud at which a receiver's sentences came; null where none did. */
  readonly receiverBaud: number | null;
  /** Bytes at the first baud. */
  readonly bytes: number;
}

/** The progress of listening, and the signal that cancels it. */
export interface Listening {
  /** When aborted, ports are closed, and the call rejects with the signal's reason. */
  readonly signal: AbortSignal;
  onStep(words: string, share: number): void;
}

export interface PortEars {
  /** Only listens. First at `expected`, if given, then at the usual bauds while the bytes that come cannot be read. */
  hear(path: string, expected: number | null, listening: Listening): Promise<HeardPort>;
  list(more: readonly string[], held: readonly string[], listening: Listening): Promise<PortFound[]>;
  /** Opens the adapter in listen-only mode at each bit rate; null when no rate gave frames. */
  findBitrate(source: SlcanSource, listening: Listening): Promise<number | null>;
}
