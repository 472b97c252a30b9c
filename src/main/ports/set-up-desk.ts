/** What making a set-up needs of the machine: its file, signal files beside it, and ears on serial ports. Failures throw one line. */
import type { PortFound, PortTrouble } from "../../shared/contract/wiring-contract.ts";
import type { CanSource } from "../../shared/setup/set-up.ts";
import type { WrittenDraft } from "../../shared/setup/set-up-text.ts";
import type { SignalFileText } from "./book.ts";

export interface SetUpStore {
  readonly file: string;
  /** The set-up as it stands; an empty one where the file is not there yet. */
  read(): WrittenDraft;
  /** The text of a set-up's signal files. */
  signalFiles(names: readonly string[]): SignalFileText[];
  /** Durable when it returns: a reader sees the old file or the new one, whole. */
  write(text: string): void;
  /** Puts a signal file beside the set-up and gives its name there; another file of that name is left alone. */
  addSignalFile(name: string, text: string): string;
}

/** The person's own car as it was measured last. */
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

/** How far listening has come, and whether it is still wanted. */
export interface Listening {
  /** Aborted: ports are closed, and the call rejects with the signal's reason. */
  readonly signal: AbortSignal;
  onStep(words: string, share: number): void;
}

export interface PortEars {
  /** Listens only. With `expected` that baud first, then the usual ones while bytes come that mean nothing. */
  hear(path: string, expected: number | null, listening: Listening): Promise<HeardPort>;
  list(more: readonly string[], held: readonly string[], listening: Listening): Promise<PortFound[]>;
  /** Opens the adapter listen-only at each bit rate; null when frames came at none. */
  findBitrate(source: CanSource, listening: Listening): Promise<number | null>;
}
