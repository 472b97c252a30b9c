/** What is known of every stored run besides its figures: day, car, receiver, plan. It is what runs are chosen and compared by. */
import type { FilteredRun } from "../../../shared/judge/run-filter.ts";
import type { GnssSource } from "../../../shared/setup/set-up.ts";
import { sourceName } from "../../../shared/setup/source-name.ts";
import { type Book, BookError, type Recording, type StoredRun } from "../../ports/book.ts";
import { runDays } from "./run-days.ts";

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

/** `runs`: stored runs of the book, in the order of the answer. */
export function runFacts(book: Book, runs: readonly StoredRun[]): RunFacts[] {
  const recordings = new Map(book.recordings().map((recording) => [recording.id, recordedWith(recording)]));
  const planned = book.plannedBy();
  const days = runDays(book, runs);
  return runs.map((run, i) => {
    const recording = recordings.get(run.recording) as RecordedWith;
    const { id, label, use, conditions, figures } = run;
    return {
      id,
      label,
      use,
      conditions,
      measured: figures.measured,
      courseDeg: figures.courseDeg,
      day: days[i] ?? null,
      car: recording.car,
      planned: planned.get(id) ?? null,
      receiver: recording.receiver,
      drivenAt: recording.baseUtcUs / 1e6 + figures.movementS,
    };
  });
}
