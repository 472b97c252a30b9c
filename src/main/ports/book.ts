/** The book in the domain's words. Every call is durable when it returns, and throws BookError with one line when it cannot be. */
import type { RunPrint } from "../../shared/run/run-print.ts";
import type { Calibration } from "../../shared/align/calibration.ts";
import type { Plan } from "../../shared/judge/plan.ts";
import type { CanFormat, Packet } from "../../shared/pipeline/packet.ts";
import type { Mark } from "../../shared/launch/mark.ts";
import type { DerivedRun, Flag, RunSamples } from "../../shared/run/run.ts";

export class BookError extends Error {
  readonly code: "unavailable" | "full" | "damaged" | "notFound" | "busy";
  constructor(code: BookError["code"], message: string, options?: ErrorOptions) {
    super(message, options);
    this.code = code;
  }
}

export type Stream = Packet["stream"];
export type Origin = "live" | "import" | "simulated";

/** "open" while bytes come, "interrupted" where the process ended before it could close it. */
export type RecordingState = "open" | "closed" | "interrupted";

export interface SignalFileText {
  readonly name: string;
  readonly text: string;
}

/** All that deriving needs besides the bytes: kept in the book, so that no other file is needed ever again. */
export interface StoredSetUp {
  readonly text: string;
  readonly signalFiles: readonly SignalFileText[];
}

export interface RecordingStart {
  readonly uid: string;
  readonly origin: Origin;
  /** Wall clock at base time 0, a whole second, microseconds since 1970. */
  readonly baseUtcUs: number;
  readonly canFormat: CanFormat;
  readonly setUp: StoredSetUp;
}

export interface Recording extends RecordingStart {
  readonly id: number;
  readonly state: RecordingState;
  /** True once its runs are final. */
  readonly derived: boolean;
  /** Arrival of the last line's first byte, ns; null while open. */
  readonly endNs: number | null;
}

export interface Gap {
  readonly stream: Stream;
  readonly fromNs: number;
  readonly toNs: number;
  readonly cause: string;
}

/** Wall clock against the base, once a second. */
export interface ClockSample {
  readonly atNs: number;
  readonly utcUs: number;
}

/** One commit's worth. `packets` are in arrival order over both streams. */
export interface JournalEntry {
  readonly packets: readonly Packet[];
  readonly marks: readonly Mark[];
  readonly gaps: readonly Gap[];
  readonly clock: readonly ClockSample[];
}

/** A run's figures without its samples: what stands in the `derived` column. */
export type RunFigures = Omit<DerivedRun, "samples">;

export interface RunWrite {
  readonly uid: string;
  readonly recording: number;
  readonly final: boolean;
  readonly label: string;
  readonly figures: RunFigures;
  readonly samples: RunSamples;
  /** Unit of every role in `samples.roles`. */
  readonly roleUnits: Readonly<Record<string, string>>;
  readonly print: RunPrint;
  readonly calibration: number | null;
  /** Noted by the program itself as the run was stored; absent: nothing. */
  readonly conditions?: Readonly<Record<string, string>>;
  /** Why it is set aside from the first; absent: it is in use. */
  readonly aside?: string;
}

export interface StoredRun extends Omit<RunWrite, "samples" | "conditions" | "aside"> {
  readonly id: number;
  /** False when deriving again no longer finds the launch: it is kept and flagged. */
  readonly found: boolean;
  readonly use: boolean;
  readonly note: string;
  readonly conditions: Readonly<Record<string, string>>;
  /** Notes by flag. */
  readonly overruled: Readonly<Record<string, string>>;
}

/** A run whose figures cannot be read or are not those that were written: its label, notes and reviews stay, deriving again mends it. */
export interface BadRun extends Pick<StoredRun, "id" | "uid" | "recording" | "final"> {
  readonly movementS: number;
  /** One line, with the remedy. */
  readonly words: string;
}

/** A file that people keep with runs, such as a controller's parameters; runs name it by its SHA-256. */
interface KeptFile {
  readonly sha256: string;
  readonly name: string;
  readonly bytes: Uint8Array;
}

export interface StoredCalibration {
  readonly id: number;
  readonly recording: number;
  readonly calibration: Calibration;
}

/** What a person changed; nothing is deleted, so each can be taken back. */
export interface Edit {
  readonly run: number | null;
  readonly what: string;
  readonly before: unknown;
  readonly after: unknown;
  readonly utcUs: number;
}

/** A test plan that was put to use. */
export interface StoredPlan {
  readonly id: number;
  readonly utcUs: number;
  /** The newest run then: only later ones were driven by it. */
  readonly afterRun: number;
  readonly plan: Plan;
}

/** A run that filled a slot. */
export interface PlannedRun {
  readonly run: number;
  readonly slot: number;
  /** A person wants the slot driven once more; the run is kept. */
  readonly again: boolean;
}

export interface RunSamplesView {
  readonly samples: RunSamples;
  readonly roleUnits: Readonly<Record<string, string>>;
}

export interface Book {
  /** Where it is now. */
  readonly file: string;
  /** What people must know of it from the first, one line each: that it was empty, that it can only be read. */
  readonly notes: readonly string[];
  /** "gone": its file was moved, deleted or replaced since it was opened; "twoNames": it has got a hard link. All calls work as before meanwhile. */
  whereabouts(): "there" | "gone" | "twoNames";
  /** Copies itself whole beside where it was, in steps, and goes on there; `file` is another then. */
  goOnBeside(): Promise<void>;
  /** The same at once. */
  goOnBesideNow(): void;

  /** Only the owner records and derives. False when another process holds the book. */
  own(): boolean;
  startRecording(start: RecordingStart): Recording;
  /** Opens a closed recording of a log once more, to go on after its last packet. */
  reopenRecording(recording: number): void;
  append(recording: number, entry: JournalEntry): void;
  closeRecording(recording: number, state: "closed" | "interrupted"): void;
  /** Keeps what the book cannot take in a file elsewhere, and gives its name. Throws BookError where no place takes it. */
  keepAside(recording: number, entries: readonly JournalEntry[]): string;
  /** Takes in what was kept aside for an open recording, closes it, and gives the file's name; null where there was nothing. */
  takeBack(recording: number): string | null;
  recordings(): Recording[];
  recording(id: number): Recording;
  packets(recording: number): Iterable<Packet>;
  marks(recording: number): Mark[];
  gaps(recording: number): Gap[];
  clockSamples(recording: number): ClockSample[];
  /** One line for each hole or spoiled block; empty when sound. */
  journalFaults(recording: number): string[];
  /** A closed recording ends with its journal; puts that right where another process wrote on after it was closed. */
  alignEnd(recording: number): void;
  replaceSetUp(recording: number, setUp: StoredSetUp, utcUs: number): void;

  /** Calibrations that are not as they were written are left out of all lists; asked for by id they throw BookError. */
  addCalibration(recording: number, calibration: Calibration): StoredCalibration;
  calibration(id: number): StoredCalibration;
  /** The recording's, oldest first. */
  calibrations(recording: number): StoredCalibration[];
  newestCalibration(recording: number): StoredCalibration | null;
  /** Those of the recording that are not as they were written, oldest first. */
  badCalibrations(recording: number): number[];
  /** Puts another in the place of one. */
  mendCalibration(id: number, calibration: Calibration): void;
  /** The newest of the other recordings with the same set-up: what a new recording starts from. */
  priorCalibration(recording: number): StoredCalibration | null;

  addRun(run: RunWrite): number;
  /** New figures for a run that keeps its id, label, note, review and conditions. */
  replaceRun(id: number, run: RunWrite): void;
  markLost(id: number, lost: Flag): void;
  /** All that can be read. */
  runs(): StoredRun[];
  /** All that cannot, of one recording or with null of the book. */
  badRuns(recording: number | null): BadRun[];
  /** The uid of every run. */
  names(): Set<string>;
  runsOf(recording: number): StoredRun[];
  run(id: number): StoredRun;
  samples(run: number): RunSamplesView;
  /** The same as plain SQL sees them, row by row and slower: for checking one against the other. */
  sampleRows(run: number): RunSamplesView;
  setLabel(run: number, label: string, utcUs: number): void;
  setReview(run: number, review: { use: boolean; note: string }, utcUs: number): void;
  setConditions(run: number, set: Readonly<Record<string, string | null>>, utcUs: number): void;
  /** Null takes an overruling back. */
  setOverruled(run: number, flag: string, note: string | null, utcUs: number): void;
  keepFile(file: KeptFile): void;
  /** Null where the book holds no such file. */
  keptFile(sha256: string): KeptFile | null;
  /** A run's edits, or with null those of the book itself, oldest first. */
  edits(run: number | null): Edit[];

  addPlan(plan: Plan, utcUs: number): StoredPlan;
  plan(id: number): StoredPlan;
  /** In the order they were driven. */
  plannedRuns(plan: number): PlannedRun[];
  addPlannedRun(plan: number, run: number, slot: number): void;
  setAgain(plan: number, run: number, again: boolean, utcUs: number): void;
  /** Runs that are in the book now and fill no slot never will: they were driven elsewhere. */
  passOver(plan: number): void;

  /** Gates of one's own, the plan ...: JSON under a key; null where never set. */
  setting(key: string): unknown;
  setSetting(key: string, value: unknown, utcUs: number): void;
  /** Settings that are not as they were written, from what was kept of every change. */
  mendSettings(): void;

  markDerived(recording: number): void;
  /** All or nothing. Not to be nested with promises: `work` must be synchronous. */
  transaction<T>(work: () => T): T;
  /** A sound single file, also while recording. Throws when `file` exists. */
  copyTo(file: string): void;
  /** SQLite's own integrity check and foreign keys, and every checksum that the book holds; empty when sound. */
  integrityFaults(): string[];
  close(): void;
}
