/**
 * The book's interface in the words of the domain. Every call is durable when it returns, and throws BookError with one line when it fails.
 */
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

/** "open" while bytes come; "interrupted" where the process ended before it could close the recording. */
export type RecordingState = "open" | "closed" | "interrupted";

export interface SignalFileText {
  readonly name: string;
  readonly text: string;
}

/** All that deriving needs besides the bytes: stored in the book, so that no other file is ever needed again. */
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

/** The content of one commit. `packets` are in order of arrival over both streams. */
export interface JournalEntry {
  readonly packets: readonly Packet[];
  readonly marks: readonly Mark[];
  readonly gaps: readonly Gap[];
  readonly clock: readonly ClockSample[];
}

/** What came back from beside the book. A file with damaged lines is left where it is. */
interface TakenBack {
  readonly files: readonly string[];
  /** Those that are whole in the book now, and could not be removed. */
  readonly stays: readonly string[];
  /** Lines whose bytes are not those that were written; each is a gap in the journal. */
  readonly damaged: number;
}

/** A run's figures without its samples: the content of the `derived` column. */
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
  /** Noted by the program itself when the run was stored; absent: nothing. */
  readonly conditions?: Readonly<Record<string, string>>;
  /** Why it is set aside from the beginning; absent: it is in use. */
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

/** A run with damaged figures. Its label, notes and reviews stay; deriving again repairs it. */
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

/** What a person changed; nothing is deleted, so each change can be reversed. */
export interface Edit {
  readonly run: number | null;
  readonly what: string;
  readonly before: unknown;
  readonly after: unknown;
  readonly utcUs: number;
}

/** A test plan that was used. */
export interface StoredPlan {
  readonly id: number;
  readonly utcUs: number;
  /** The newest run at that time: only later ones were driven under it. */
  readonly afterRun: number;
  readonly plan: Plan;
}

/** A run that filled a slot. */
export interface PlannedRun {
  readonly run: number;
  readonly slot: number;
  /** A person wants the slot driven again; the run is kept. */
  readonly again: boolean;
}

export interface RunSamplesView {
  readonly samples: RunSamples;
  readonly roleUnits: Readonly<Record<string, string>>;
}

export interface Book {
  /** The present file. */
  readonly file: string;
  /** What people must know about it at once, one line each: that it was empty, that it can only be read. */
  readonly notes: readonly string[];
  /**
   * "gone": its file was moved, deleted or replaced since it was opened; "twoNames": it has a second name (hard link). All calls still work
   * meanwhile.
   */
  whereabouts(): "there" | "gone" | "twoNames";
  /** Copies itself completely to a new file beside the old place, in steps, and continues there; `file` then changes. */
  goOnBeside(): Promise<void>;
  /** The same in one step. */
  goOnBesideNow(): void;

  /** Only the owner records and derives. False when another process holds the book. */
  own(): boolean;
  startRecording(start: RecordingStart): Recording;
  /** Opens a closed recording of a log again, to continue after its last packet. */
  reopenRecording(recording: number): void;
  append(recording: number, entry: JournalEntry): void;
  /**
   * Writes the block that is still being filled; the next draft and the next `append` replace it. It survives the death of this process but not a power
   * cut: nobody waits until the drive has it.
   */
  draft(recording: number, packets: readonly Packet[]): void;
  closeRecording(recording: number, state: "closed" | "interrupted"): void;
  /**
   * Stores what the book cannot take in a file elsewhere, behind what is there already, and returns its name. `ends`: the recording was closed
   * with it. Throws BookError where no place takes it.
   */
  keepAside(recording: number, entries: readonly JournalEntry[], ends: boolean): string;
  /** Keeps some room free on the book's drive, a step at a time, for the end of a recording whose disk is full. */
  keepRoom(): void;
  /** Gives it up: most of it for what is still in memory, the rest for a gap. */
  giveRoom(part: "most" | "rest"): void;
  /** Takes about a second of what this process kept aside back into the journal; true once nothing is left and the file is gone. */
  takeSomeBack(recording: number): boolean;
  /**
   * Takes in what a process that is gone had kept aside for an open recording, except what its journal has already, and closes the recording.
   * Null where there was nothing.
   */
  takeBack(recording: number): TakenBack | null;
  recordings(): Recording[];
  recording(id: number): Recording;
  packets(recording: number): Iterable<Packet>;
  marks(recording: number): Mark[];
  gaps(recording: number): Gap[];
  clockSamples(recording: number): ClockSample[];
  /** One line for each hole or damaged block; empty when sound. */
  journalFaults(recording: number): string[];
  /** A closed recording ends with its journal. Corrects the end where another process wrote after it was closed. */
  alignEnd(recording: number): void;
  replaceSetUp(recording: number, setUp: StoredSetUp, utcUs: number): void;

  /** Damaged calibrations are left out of all lists; asked for by id they throw BookError. */
  addCalibration(recording: number, calibration: Calibration): StoredCalibration;
  calibration(id: number): StoredCalibration;
  /** The recording's calibrations, oldest first. */
  calibrations(recording: number): StoredCalibration[];
  newestCalibration(recording: number): StoredCalibration | null;
  /** The recording's damaged calibrations, oldest first. */
  badCalibrations(recording: number): number[];
  /** Replaces one by another. */
  mendCalibration(id: number, calibration: Calibration): void;
  /** The newest calibration of the other recordings with the same set-up: a new recording starts from it. */
  priorCalibration(recording: number): StoredCalibration | null;

  /** Puts samples by, outside the memory and outside the book, until they are stored; what it gives takes them back, once. */
  bufferSamples(samples: RunSamplesView): () => RunSamples;
  addRun(run: RunWrite): number;
  /** New figures for a run that keeps its id, label, note, review and conditions. */
  replaceRun(id: number, run: RunWrite): void;
  markLost(id: number, lost: Flag): void;
  /** All runs that can be read. */
  runs(): StoredRun[];
  /** All runs that cannot be read: of one recording, or with null of the book. */
  badRuns(recording: number | null): BadRun[];
  /** Gives runs whose page cannot be read a new one, to be derived again, and gives their numbers. */
  mendRuns(): number[];
  /** The same for samples on a page that cannot be read: they are gone until they are derived again. */
  mendSamples(): number[];
  /** The uid of every run. */
  names(): Set<string>;
  runsOf(recording: number): StoredRun[];
  run(id: number): StoredRun;
  /** `wanted`: the roles to read, where it is not all of them: each takes its time. */
  samples(run: number, wanted?: (role: string) => boolean): RunSamplesView;
  /** Some columns alone; a role that the car lacks is left out. */
  sampleColumns<Name extends string>(run: number, names: readonly Name[]): Partial<Record<Name, Float64Array>>;
  setLabel(run: number, label: string, utcUs: number): void;
  setReview(run: number, review: { use: boolean; note: string }, utcUs: number): void;
  setConditions(run: number, set: Readonly<Record<string, string | null>>, utcUs: number): void;
  /** Null removes an overruling. */
  setOverruled(run: number, flag: string, note: string | null, utcUs: number): void;
  keepFile(file: KeptFile): void;
  /** Null where the book has no such file. */
  keptFile(sha256: string): KeptFile | null;
  /** A run's edits, or with null those of the book itself, oldest first. */
  edits(run: number | null): Edit[];

  addPlan(plan: Plan, utcUs: number): StoredPlan;
  plan(id: number): StoredPlan;
  /** All that were put to use and can be read, oldest first. */
  plans(): StoredPlan[];
  /** In the order they were driven. */
  plannedRuns(plan: number): PlannedRun[];
  /** The newest plan whose slot a run filled, by run. */
  plannedBy(): ReadonlyMap<number, number>;
  addPlannedRun(plan: number, run: number, slot: number): void;
  setAgain(plan: number, run: number, again: boolean, utcUs: number): void;
  /** Runs now in the book that fill no slot will never fill one: they were driven elsewhere. */
  passOver(plan: number): void;

  /** Own gates, the plan ...: JSON under a key; null where never set. */
  setting(key: string): unknown;
  setSetting(key: string, value: unknown, utcUs: number): void;
  /** Repairs damaged settings from what was stored of every change. */
  mendSettings(): void;

  markDerived(recording: number): void;
  /** All or nothing. `work` must be synchronous: promises do not work inside. */
  transaction<T>(work: () => T): T;
  /** A sound single file, also while recording. Throws when `file` exists. */
  copyTo(file: string): void;
  /** The same in steps, into a new file near the book, named after it and the day: while recording no byte waits for it. Gives the file. */
  backUp(day: string): Promise<string>;
  /** One line for each kind of what people noted of which a page cannot be read; the rest is used without it. */
  lostPages(): string[];
  /** SQLite's own integrity check and foreign keys, and every checksum that the book holds; empty when sound. */
  integrityFaults(): string[];
  close(): void;
}
