/** What is known of every stored run besides its figures: day, car, receiver, plan. It is what runs are chosen and compared by. */
import type { FilteredRun } from "../../../shared/judge/run-filter.ts";
import type { GnssSource } from "../../../shared/setup/set-up.ts";
import { sourceName } from "../../../shared/setup/source-name.ts";
import { type Book, BookError, type Recording, type StoredRun } from "../../ports/book.ts";

interface RunFacts extends FilteredRun {
  /** Identifies the receiver: its port, or the logs of its data; null where the set-up cannot be read. */
  readonly receiver: string | null;
  /** Grows in driving order, s. */
  readonly drivenAt: number;
}

interface RecordedWith {
  readonly receiver: string | null;
  readonly car: string | null;
  readonly baseUtcUs: number;
}

interface NotedSetUp {
  readonly car?: { readonly name?: string };
  readonly sources?: { readonly gnss?: GnssSource };
}

/** Null for one that cannot be read, which `check` names: the runs made with it are listed all the same. */
function setUpOf(recording: Recording): NotedSetUp | null {
  try {
    return JSON.parse(recording.setUp.text) as NotedSetUp | null;
  } catch (error) {
    // One that is nested too deeply is a RangeError.
    if (error instanceof SyntaxError || error instanceof RangeError) return null;
    if (error instanceof BookError && error.code === "damaged") return null;
    throw error;
  }
}

function receiverOf({ sources }: NotedSetUp): string {
  const gnss = sources?.gnss;
  return typeof gnss !== "object" || gnss === null ? "logs" : (sourceName(gnss) ?? "logs");
}

function recordedWith(recording: Recording): RecordedWith {
  const { origin, baseUtcUs } = recording;
  const setUp = setUpOf(recording);
  const logged = origin === "import" ? "logs" : setUp === null ? null : receiverOf(setUp);
  return { receiver: origin === "simulated" ? "the simulated receiver" : logged, car: setUp?.car?.name ?? null, baseUtcUs };
}

/** By the receiver's stamps, else by this machine's clock. */
const dayOf = ({ figures }: StoredRun, { baseUtcUs }: RecordedWith) =>
  new Date(figures.startedAtUtcMs ?? baseUtcUs / 1000 + figures.movementS * 1000).toISOString().slice(0, 10);

/** `runs`: stored runs of the book, in the order of the answer. */
export function runFacts(book: Book, runs: readonly StoredRun[]): RunFacts[] {
  const recordings = new Map(book.recordings().map((recording) => [recording.id, recordedWith(recording)]));
  const planned = book.plannedBy();
  return runs.map((run) => {
    const recording = recordings.get(run.recording) as RecordedWith;
    const { id, label, use, conditions, figures } = run;
    return {
      id,
      label,
      use,
      conditions,
      measured: figures.measured,
      courseDeg: figures.courseDeg,
      day: dayOf(run, recording),
      car: recording.car,
      planned: planned.get(id) ?? null,
      receiver: recording.receiver,
      drivenAt: recording.baseUtcUs / 1e6 + figures.movementS,
    };
  });
}
