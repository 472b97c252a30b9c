/** The only file that creates adapters and gives them to the core. What cannot be opened throws the adapter's own one-line error. */
import { existsSync } from "node:fs";
import { dirname, join, resolve } from "node:path";
import type { CoreEvent, PortView } from "../shared/contract/contract.ts";
import { startEstimatorThread } from "./adapters/host/estimator-thread.ts";
import { readHappened } from "./adapters/host/happened-thread.ts";
import { startTuningThread } from "./adapters/host/tuning-thread.ts";
import { createHostClock } from "./adapters/host/host-clock.ts";
import { createHostState } from "./adapters/host/host-state.ts";
import { createLastCarNote } from "./adapters/files/last-car.ts";
import { listPorts } from "./adapters/serial/list-ports.ts";
import type { LogRequest } from "./adapters/logs/log-lines.ts";
import { readLogSteps } from "./adapters/logs/log-packets.ts";
import type { McapOptions } from "./adapters/files/mcap-file.ts";
import type { ArchiveSummary } from "./adapters/files/parquet-archive.ts";
import { createPortEars } from "./adapters/serial/port-ears.ts";
import { hearGpsd } from "./adapters/network/hear-gpsd.ts";
import { listInterfaces } from "./adapters/socketcan/list-interfaces.ts";
import { createSources } from "./adapters/sources/create-sources.ts";
import { readSetUpText, readSignalFiles } from "./adapters/files/set-up-file.ts";
import { createSetUpStore } from "./adapters/files/set-up-store.ts";
import { createSimulatedSources } from "./adapters/simulated/simulated-source.ts";
import { createCore } from "./core/core.ts";
import { lineOf } from "./core/basics/failure.ts";
import { type ImportSteps, importRecording, noteMissing, restOf } from "./core/deriving/import-recording.ts";
import { gatesOf } from "./core/judging/own-gates.ts";
import { type ReadySetUp, readSetUpWith } from "./core/basics/read-set-up.ts";
import type { Recovery } from "./core/deriving/recover.ts";
import { CAR_SEED, type FirstDay, firstDayOf, simulatedSetUp } from "./core/deriving/simulated-day.ts";
import { archivedRun, archiveEntries } from "./core/library/archive-entries.ts";
import { mcapRuns } from "./core/library/mcap-runs.ts";
import { tuneFigures } from "./core/judging/tune-figures.ts";
import type { ArchivedRun } from "../shared/report/runs-table.ts";
import type { Settled } from "./core/deriving/settle.ts";
import { createWiringCore } from "./core/wiring/wiring-core.ts";
import type { WiringCore } from "./core/wiring/wiring-core-parts.ts";
import { launchTeam } from "./launch-team.ts";
import { linesOf, openOwned, tellOpened } from "./open-book.ts";
import type { Book } from "./ports/book.ts";
import type { Clock } from "./ports/clock.ts";
import type { LaunchTeam } from "../shared/pipeline/launch-team.ts";
import { serialPorts } from "../shared/setup/source-name.ts";
import { controlFrom, controlNotes } from "../shared/simulation/control-text.ts";
import { type ControlSetting, DEFAULT_CONTROL } from "../shared/simulation/traction-control.ts";
import { softwareVersion } from "./own-version.ts";

export function openSetUp(file: string): ReadySetUp {
  return readSetUpWith(readSetUpText(file), `Set-up ${file}`, (names) => readSignalFiles(file, names));
}

/** A different drive for each recording of the book, as with a real car: two runs with the same bytes would count as one. */
function simulatedSources(book: Book, clock: Clock, control: ControlSetting) {
  return createSimulatedSources({ clock, seed: CAR_SEED, driveSeed: CAR_SEED + 1 + book.recordings().length, control });
}

export function hostClock(): Clock {
  return createHostClock();
}

export interface LogImport extends LogRequest {
  readonly book: Book;
  readonly ready: ReadySetUp;
  readonly label: string;
  /** Of all runs found. */
  readonly conditions: Readonly<Record<string, string | null>>;
  readonly team: LaunchTeam;
}

/** Both logs are read through first; an answer of "stop" during that throws, as nothing is stored yet. */
export function* importLogs({ book, ready, label, conditions, team, ...request }: LogImport): ImportSteps<Settled & { recording: number }> {
  const reading = readLogSteps(request);
  let step = reading.next();
  for (; step.done !== true; step = reading.next()) {
    if ((yield { doing: "reading", storedS: 0, derived: 0 }) === "stop")
      throw new RangeError("Stopped while the logs were read: nothing was stored");
  }
  const { packets, baseUtcUs, uid } = step.value;
  const known = book.recordings().find((recording) => recording.uid === uid);
  const common = {
    book,
    ready,
    uid,
    origin: "import",
    canFormat: request.canFormat,
    baseUtcUs,
    label,
    gates: gatesOf(book),
    team,
  } as const;
  if (known === undefined) return yield* importRecording({ ...common, packets });
  const rest = restOf(book, known, { ready, label, packets });
  if (rest === null) {
    const noted = noteMissing(book, known.id, conditions, hostClock().utcUs());
    const what = noted === 0 ? "" : `; the conditions given were noted with ${noted === 1 ? "1 run that" : `${noted} runs that`} had none`;
    throw new RangeError(`These logs are in the book already, as recording ${known.id}; \`rederive\` computes their runs again${what}`);
  }
  request.onNote(`Recording ${known.id} holds the first part of these logs: the import goes on after it`);
  return yield* importRecording({ ...common, packets: rest, into: known.id });
}

export interface CaptureOptions {
  readonly bookFile: string;
  readonly setUpFile: string;
  readonly emit: (event: CoreEvent) => void;
  readonly label: string;
}

/** A recording without screens: the set-up does not change, and every launch is armed automatically. */
export function composeCapture({ bookFile, setUpFile, emit, label }: CaptureOptions) {
  const clock = createHostClock();
  const ready = openSetUp(setUpFile);
  const { book, ...opened } = openOwned(bookFile);
  const paths = serialPorts(ready.setUp.sources);
  const core = createCore({
    book,
    clock,
    ready,
    sources: createSources(ready.setUp, clock),
    origin: "live",
    host: createHostState(),
    gates: gatesOf(book),
    setUpFile,
    listPorts: () => listPorts({ clock, more: paths, held: paths }),
    emit,
    makeEstimates: startEstimatorThread,
    alwaysArmed: true,
    label,
    softwareVersion: softwareVersion(),
  });
  return { core, book, opened: linesOf(opened), recovery: opened.recovery };
}

export interface ScreensOptions {
  readonly bookFile: string;
  /** Null: the simulated car. */
  readonly setUpFile: string | null;
  readonly emit: (event: CoreEvent) => void;
  /** Where the last measured car is remembered; null: nowhere. */
  readonly rememberFile: string | null;
  /** The setting of the simulated car's control, "slip=0.11,late=0.02"; null: as usual. */
  readonly control?: string | null;
  readonly clock: Clock;
}

interface ScreensCore {
  readonly core: WiringCore;
  readonly book: Book;
  readonly opened: readonly string[];
  /** Runs of recordings whose process died: to be derived in steps once the core runs. */
  readonly recovery: Recovery;
  /** What must be imported before the core starts; null when nothing. Run in steps, so that requests are answered meanwhile. */
  readonly firstDay: FirstDay | null;
}

/**
 * The set-up that a book belongs to: the one it was measured with last, or the one of the same name beside it. Where that does not exist, it is the one
 * to be made, and is not remembered as a car.
 */
export function setUpOf(bookFile: string, rememberFile: string | null): { setUpFile: string; rememberFile: string | null } {
  const last = createLastCarNote(rememberFile).read();
  if (last !== null && resolve(last.bookFile) === resolve(bookFile)) return { setUpFile: last.setUpFile, rememberFile };
  const setUpFile = `${bookFile.replace(/\.gripbook$/, "")}.json`;
  return { setUpFile, rememberFile: existsSync(setUpFile) ? rememberFile : null };
}

/** With screens the set-up may change and may be empty at first; the Wiring screen makes a file that does not exist yet. */
export function composeScreens({ bookFile, setUpFile, emit, rememberFile, control = null, clock }: ScreensOptions): ScreensCore {
  const setting = control === null ? DEFAULT_CONTROL : controlFrom(control);
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
  const team = launchTeam((text) => emit({ event: "notice", key: "launch-threads", text }));
  const core = createWiringCore({
    book,
    team,
    clock,
    ears: createPortEars(clock),
    emit,
    store: setUpFile === null ? null : createSetUpStore(setUpFile),
    simulated,
    makeSources(sources) {
      if (sources === null) return simulatedSources(book, clock, setting);
      return Object.values(sources).some((source) => source !== undefined) ? createSources({ sources }, clock) : [];
    },
    makeCore: (parts) =>
      createCore({
        ...parts,
        clock,
        origin: parts.setUpFile === null ? "simulated" : "live",
        alsoNoted: parts.setUpFile === null && control !== null ? controlNotes(setting) : {},
        host: createHostState(),
        gates: gatesOf(parts.book),
        listPorts: () => listPorts({ clock, more: [], held: [] }),
        makeEstimates: startEstimatorThread,
        makeTuning: startTuningThread,
        happened: (withPositions) =>
          readHappened({ bookFile: parts.book.file, software: softwareVersion(), utcUs: clock.utcUs(), withPositions }),
        alwaysArmed: false,
        label: "",
        softwareVersion: softwareVersion(),
      }),
    openOwn() {
      const folder = dirname(resolve(bookFile));
      const own = note.read() ?? { setUpFile: join(folder, "own-car.json"), bookFile: join(folder, "test-days.gripbook") };
      const store = createSetUpStore(own.setUpFile);
      const { book: ownBook, ...ofBook } = openOwned(own.bookFile);
      tellOpened([...linesOf(ofBook), ...ofBook.recovery.waiting], emit);
      remember(own);
      return { store, book: ownBook };
    },
    lastCar: () => note.read(),
  });
  if (setUpFile !== null) remember({ setUpFile: resolve(setUpFile), bookFile: resolve(bookFile) });
  const firstDay = simulated === null ? null : firstDayOf(book, simulated, clock.utcUs());
  return { core, book, opened: linesOf(opened), recovery: { ...opened.recovery, derive: () => opened.recovery.derive(team) }, firstDay };
}

/** One row a run, with everything that is known of it but its samples. */
export async function runsInRows(book: Book, runs: readonly number[]): Promise<ArchivedRun[]> {
  const tuneOf = await tuneFigures(book);
  return runs.map((id) => archivedRun(book, id, { tuneOf, softwareVersion: softwareVersion() }));
}

/** Adds or replaces runs in an archive of Parquet files. */
export async function archiveRuns(book: Book, runs: readonly number[], folder: string): Promise<ArchiveSummary> {
  // Only this command needs the writer, and loading it takes a while.
  const { writeArchive } = await import("./adapters/files/parquet-archive.ts");
  const tuneOf = await tuneFigures(book);
  return writeArchive(folder, archiveEntries(book, { runs, tuneOf, softwareVersion: softwareVersion() }));
}

export type McapExport = Omit<McapOptions, "softwareVersion"> & { readonly onRun: (index: number) => void };

/** All runs into one MCAP file, a channel a run. */
export async function logRuns(book: Book, runs: readonly number[], { onRun, ...options }: McapExport): Promise<void> {
  const { writeMcap } = await import("./adapters/files/mcap-file.ts");
  await writeMcap({ ...options, softwareVersion: softwareVersion() }, mcapRuns(book, runs, { softwareVersion: softwareVersion(), onRun }));
}

export async function lookAtPorts(more: readonly string[]): Promise<PortView[]> {
  const clock = createHostClock();
  const [ports, interfaces, gpsd] = await Promise.all([listPorts({ clock, more, held: [] }), listInterfaces(), hearGpsd(clock)]);
  return [...ports, ...interfaces, ...(gpsd === null ? [] : [gpsd])];
}
