/** The only file that builds adapters and hands them to the core. What cannot be opened throws the adapter's own one-line error. */
import { createRequire } from "node:module";
import { dirname, join, resolve } from "node:path";
import { carSetUp, carSignalFile } from "../shared/simulation/car-files.ts";
import { US_PER_S } from "../shared/kernel/units.ts";
import { defaultDayPlan } from "../shared/simulation/default-day.ts";
import { simulateDay } from "../shared/simulation/simulate-day.ts";
import type { CoreEvent, PortView } from "../shared/contract/contract.ts";
import type { Packet } from "../shared/pipeline/packet.ts";
import { startEstimatorThread } from "./adapters/host/estimator-thread.ts";
import { createHostClock } from "./adapters/host/host-clock.ts";
import { createHostState } from "./adapters/host/host-state.ts";
import { createLastCarNote } from "./adapters/files/last-car.ts";
import { listPorts } from "./adapters/serial/list-ports.ts";
import { type LogRequest, readLogPackets } from "./adapters/logs/log-packets.ts";
import type { ArchiveEntry, ArchiveSummary } from "./adapters/files/parquet-archive.ts";
import { createPortEars } from "./adapters/serial/port-ears.ts";
import { createSerialSources } from "./adapters/serial/serial-sources.ts";
import { readSetUpFile } from "./adapters/files/set-up-file.ts";
import { createSetUpStore } from "./adapters/files/set-up-store.ts";
import { createSimulatedSources } from "./adapters/simulated/simulated-source.ts";
import { type Core, createCore } from "./core/core.ts";
import { lineOf } from "./core/basics/failure.ts";
import { type ImportSteps, importRecording, restOf } from "./core/deriving/import-recording.ts";
import { rowOf } from "./core/library/library.ts";
import { gatesOf } from "./core/judging/own-gates.ts";
import { parseSetUp, type ReadySetUp, readSetUp } from "./core/basics/read-set-up.ts";
import { runTable } from "./core/library/run-columns.ts";
import type { Settled } from "./core/deriving/settle.ts";
import { createWiringCore } from "./core/wiring/wiring-core.ts";
import { linesOf, openOwned, tellOpened } from "./open-book.ts";
import type { Book } from "./ports/book.ts";
import type { Clock } from "./ports/clock.ts";

/** One car and one receiver: what the stored day calibrated holds for the drive that goes on after it. */
const CAR_SEED = 7;
/** How long the day of that seed is. */
const DAY_LENGTH_S = 1262;
/** The simulated day takes about twenty minutes. */
const DAY_BEFORE_S = 1800;

export function openSetUp(file: string): ReadySetUp {
  return readSetUp(readSetUpFile(file), `Set-up ${file}`);
}

/** The simulated car's own set-up, as a person would have written it. */
function simulatedSetUp(): ReadySetUp {
  const text = JSON.stringify(carSetUp(defaultDayPlan(CAR_SEED).bus), null, 2);
  return readSetUp({ text, signalFiles: [{ name: "car.dbc", text: carSignalFile() }] }, "Set-up of the simulated car");
}

/** Another drive with each recording of the book, as a real car's would be: runs that are the same to the byte are no two runs. */
function simulatedSources(book: Book, clock: Clock) {
  return createSimulatedSources({ clock, seed: CAR_SEED, driveSeed: CAR_SEED + 1 + book.recordings().length });
}

export function hostClock(): Clock {
  return createHostClock();
}

export interface LogImport extends LogRequest {
  readonly book: Book;
  readonly ready: ReadySetUp;
  readonly label: string;
}

export function importLogs({ book, ready, label, ...request }: LogImport): ImportSteps<Settled & { recording: number }> {
  const { packets, baseUtcUs, uid } = readLogPackets(request);
  const known = book.recordings().find((recording) => recording.uid === uid);
  const common = { book, ready, uid, origin: "import", canFormat: request.canFormat, baseUtcUs, label, gates: gatesOf(book) } as const;
  if (known === undefined) return importRecording({ ...common, packets });
  const rest = restOf(book, known, { ready, label, packets });
  if (rest === null)
    throw new RangeError(`These logs are in the book already, as recording ${known.id}; \`rederive\` computes their runs again`);
  request.onNote(`Recording ${known.id} holds the first part of these logs: the import goes on after it`);
  return importRecording({ ...common, packets: rest, into: known.id });
}

function* dayPackets(packets: ReturnType<typeof simulateDay>["packets"]): Generator<Packet> {
  for (const { stream, arrivalUs, bytes } of packets) yield { stream, arrivalNs: arrivalUs * 1e3, bytes };
}

const DAY_UID = `simulated-day-${CAR_SEED}`;

/**
 * Twelve runs of the simulated car, so that a first look is not an empty one. They end before now: what is driven next comes after them. Null in a book
 * that has something else, or the day as far as a person wanted it; a day that a dying process left unfinished goes on.
 */
function importSimulatedDay(book: Book, ready: ReadySetUp, utcUs: number): ImportSteps<Settled & { recording: number }> | null {
  const [known, ...others] = book.recordings();
  const isUnfinished =
    known?.uid === DAY_UID && known.state === "interrupted" && JSON.stringify(known.setUp) === JSON.stringify(ready.stored);
  if (others.length > 0 || (known !== undefined && !isUnfinished)) return null;
  const startUnixS = known === undefined ? Math.floor(utcUs / US_PER_S) - DAY_BEFORE_S : known.baseUtcUs / US_PER_S;
  const { packets } = simulateDay({ seed: CAR_SEED, plan: { ...defaultDayPlan(CAR_SEED), startUnixS } });
  const day = {
    book,
    ready,
    uid: DAY_UID,
    origin: "simulated",
    canFormat: "slcan",
    baseUtcUs: startUnixS * US_PER_S,
    label: "",
    gates: gatesOf(book),
  } as const;
  if (known === undefined) return importRecording({ ...day, packets: dayPackets(packets) });
  const rest = restOf(book, known, { ready, label: "", packets: dayPackets(packets) });
  return rest === null ? null : importRecording({ ...day, packets: rest, into: known.id });
}

/** Tells the runs of an import once they are stored. */
function* announced(
  steps: NonNullable<ReturnType<typeof importSimulatedDay>>,
  book: Book,
  emit: (event: CoreEvent) => void,
): ImportSteps<void> {
  const { runs } = yield* steps;
  for (const id of runs) emit({ event: "runStored", run: rowOf(book.run(id)) });
}

function firstDayOf(book: Book, ready: ReadySetUp, clock: Clock, emit: (event: CoreEvent) => void): FirstDay | null {
  const steps = importSimulatedDay(book, ready, clock.utcUs());
  return steps === null ? null : { steps: announced(steps, book, emit), lengthS: DAY_LENGTH_S };
}

export interface LiveOptions {
  readonly bookFile: string;
  /** Null: the simulated car. */
  readonly setUpFile: string | null;
  readonly emit: (event: CoreEvent) => void;
  readonly alwaysArmed: boolean;
  readonly label: string;
  /** Where the car measured last is remembered; absent: nowhere. */
  readonly rememberFile?: string | null;
}

export interface FirstDay {
  readonly steps: ImportSteps<void>;
  /** How long the day is, s. */
  readonly lengthS: number;
}

export interface LiveCore {
  readonly core: Core;
  readonly book: Book;
  readonly mended: readonly string[];
  /** What is to be imported before the core starts; null when nothing. To be walked in steps, so that requests are heard meanwhile. */
  readonly firstDay: FirstDay | null;
}

export function composeLive(options: LiveOptions): LiveCore {
  const { setUpFile } = options;
  if (!options.alwaysArmed) return composeScreens(options);
  const clock = createHostClock();
  const ready = setUpFile === null ? simulatedSetUp() : openSetUp(setUpFile);
  const { book, ...opened } = openOwned(options.bookFile);
  const sources = setUpFile === null ? simulatedSources(book, clock) : createSerialSources(ready.setUp, clock);
  const paths = setUpFile === null ? [] : Object.values(ready.setUp.sources).map((source) => source.port);
  const core = createCore({
    book,
    clock,
    ready,
    sources,
    origin: setUpFile === null ? "simulated" : "live",
    host: createHostState(),
    gates: gatesOf(book),
    setUpFile,
    listPorts: () => listPorts({ clock, more: paths, held: paths }),
    emit: options.emit,
    makeEstimates: startEstimatorThread,
    alwaysArmed: options.alwaysArmed,
    label: options.label,
    softwareVersion: softwareVersion(),
  });
  const firstDay = setUpFile === null ? firstDayOf(book, ready, clock, options.emit) : null;
  return { core, book, mended: linesOf(opened), firstDay };
}

/** With screens the set-up may change, and may be empty at first: a file that is not there yet is made by the Wiring screen. */
function composeScreens({ bookFile, setUpFile, emit, label, rememberFile = null }: LiveOptions): LiveCore {
  const clock = createHostClock();
  const note = createLastCarNote(rememberFile);
  const simulated = setUpFile === null ? simulatedSetUp() : null;
  const remember = (car: Parameters<typeof note.write>[0]) => {
    try {
      note.write(car);
    } catch (error) {
      emit({ event: "notice", key: "last-car", text: `This car is not remembered for the next start: ${lineOf(error)}` });
    }
  };
  const { book, ...opened } = openOwned(bookFile);
  const core = createWiringCore({
    book,
    clock,
    ears: createPortEars(clock),
    emit,
    store: setUpFile === null ? null : createSetUpStore(setUpFile),
    simulated,
    makeSources(sources) {
      if (sources === null) return simulatedSources(book, clock);
      return Object.values(sources).some((source) => source !== undefined) ? createSerialSources({ sources }, clock) : [];
    },
    makeCore: (parts) =>
      createCore({
        ...parts,
        clock,
        origin: parts.setUpFile === null ? "simulated" : "live",
        host: createHostState(),
        gates: gatesOf(parts.book),
        listPorts: () => listPorts({ clock, more: [], held: [] }),
        makeEstimates: startEstimatorThread,
        alwaysArmed: false,
        label,
        softwareVersion: softwareVersion(),
      }),
    openOwn() {
      const folder = dirname(resolve(bookFile));
      const own = note.read() ?? { setUpFile: join(folder, "own-car.json"), bookFile: join(folder, "test-days.gripbook") };
      const store = createSetUpStore(own.setUpFile);
      const { book: ownBook, ...ofBook } = openOwned(own.bookFile);
      tellOpened(linesOf(ofBook), emit);
      remember(own);
      return { store, book: ownBook };
    },
    lastCar: () => note.read(),
  });
  if (setUpFile !== null) remember({ setUpFile: resolve(setUpFile), bookFile: resolve(bookFile) });
  const firstDay = simulated === null ? null : firstDayOf(book, simulated, clock, emit);
  return { core, book, mended: linesOf(opened), firstDay };
}

/** The version in package.json, which stands beside every figure on paper. */
export function softwareVersion(): string {
  return (createRequire(import.meta.url)("../../package.json") as { version: string }).version;
}

function* archiveEntries(book: Book, runs: readonly number[]): Generator<ArchiveEntry> {
  const version = softwareVersion();
  for (const id of runs) {
    const run = book.run(id);
    const { car } = parseSetUp(book.recording(run.recording).setUp.text, `Set-up of recording ${run.recording}`);
    const calibration = run.calibration === null ? null : book.calibration(run.calibration).calibration;
    const { uid, label, use, note, final, conditions, figures } = run;
    const { rollingRadiusM = null, gnssDelayS = null } = calibration ?? {};
    const known = { uid, label, use, note, final, conditions, rollingRadiusM, gnssDelayS, car: car.name, softwareVersion: version };
    yield { run: { ...figures, ...known }, table: runTable(book.samples(id), figures.movementS) };
  }
}

/** Adds or replaces runs in an archive of Parquet files. */
export async function archiveRuns(book: Book, runs: readonly number[], folder: string): Promise<ArchiveSummary> {
  // Only this command needs the writer, and loading it takes a while.
  const { writeArchive } = await import("./adapters/files/parquet-archive.ts");
  return writeArchive(folder, archiveEntries(book, runs));
}

export function lookAtPorts(more: readonly string[]): Promise<PortView[]> {
  return listPorts({ clock: createHostClock(), more, held: [] });
}
