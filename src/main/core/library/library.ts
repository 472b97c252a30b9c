/** Stored runs as screens and the command line show them. An unknown run throws BookError. */
import type { BookView, RunColumns, RunRow, RunView } from "../../../shared/contract/contract.ts";
import type { Flag } from "../../../shared/run/run.ts";
import type { Calibration } from "../../../shared/align/calibration.ts";
import { type Book, BookError, type RunFigures, type StoredRun } from "../../ports/book.ts";
import { groupOrder } from "./group-order.ts";
import { runTable } from "./run-columns.ts";
import { runDays } from "./run-days.ts";
import { runMoments, runNotes } from "./run-moments.ts";
import { toldFlags } from "./told-flags.ts";

const HEADLINE = "0-60 mph";

const startedAt = ({ startedAtUtcMs }: RunFigures) => (startedAtUtcMs === null ? null : new Date(startedAtUtcMs).toISOString());

/** `flags`: those that also need the other runs; a run by itself knows only its own. */
export function rowOf(run: StoredRun, flags: readonly Flag[] = run.figures.flags): RunRow {
  const headline = run.figures.gates.find((gate) => gate.gate === HEADLINE && gate.start === "movement");
  return {
    id: run.id,
    uid: run.uid,
    final: run.final,
    label: run.label,
    startedAt: startedAt(run.figures),
    courseDeg: run.figures.courseDeg,
    seconds: headline?.seconds ?? null,
    plusMinus95: headline?.plusMinus95 ?? null,
    flags,
    use: run.use,
    note: run.note,
    print: run.print,
  };
}

export function bookViewOf(book: Book, car: string, simulated: boolean): BookView {
  const runs = book.runs();
  return { car, bookFile: book.file, simulated, runs: rowsOf(book, runs), groups: groupOrder(book, runs) };
}

/** `runs`: the book's, where they have been read already. */
export function rowsOf(book: Book, runs: readonly StoredRun[] = book.runs()): RunRow[] {
  const days = runDays(book, runs);
  const [told, notes] = [toldFlags(book, runs, days), runNotes(book, runs)];
  return runs.map((run, i) => {
    const [noted, day] = [notes(run), days[i] ?? null];
    const { conditions } = run;
    return {
      ...rowOf(run, told(run)),
      ...(day === null ? {} : { day }),
      ...(noted.length === 0 ? {} : { noted }),
      ...(Object.keys(conditions).length === 0 ? {} : { conditions }),
    };
  });
}

function calibrationView(id: number, { rollingRadiusM, gnssDelayS, notes }: Calibration): RunView["calibration"] {
  return { id, rollingRadiusM, gnssDelayS, notes };
}

/** Before the recording is closed, a run uses set-up values: there is no calibration yet. */
const NONE_YET: RunView["calibration"] = {
  id: 0,
  rollingRadiusM: { value: Number.NaN, plusMinus95: Number.NaN, from: "unknown" },
  gnssDelayS: { value: Number.NaN, plusMinus95: Number.NaN, from: "unknown" },
  notes: ["The recording is still open: figures are provisional and stand on the latest calibration."],
};

export function viewOf(book: Book, id: number, told = toldFlags(book), moments = runMoments(book)): RunView {
  const run = book.run(id);
  const { figures } = run;
  return {
    run: {
      id,
      uid: run.uid,
      final: run.final,
      label: run.label,
      startedAt: startedAt(figures),
      courseDeg: figures.courseDeg,
      flags: told(run),
      use: run.use,
      note: run.note,
      conditions: run.conditions,
      measured: figures.measured,
      windowFromS: figures.windowFromS,
      windowToS: figures.windowToS,
    },
    gates: figures.gates,
    slip: figures.slip,
    moments: moments(run),
    calibration: run.calibration === null ? NONE_YET : calibrationOf(book, run.calibration),
  };
}

/** A damaged calibration is reported; its run is still shown. */
function calibrationOf(book: Book, id: number): RunView["calibration"] {
  try {
    return calibrationView(id, book.calibration(id).calibration);
  } catch (error) {
    if (!(error instanceof BookError && error.code === "damaged")) throw error;
    return { ...NONE_YET, id, notes: [error.message] };
  }
}

export function columnsOf(book: Book, id: number): RunColumns {
  const { names, units, columns } = runTable(book.samples(id), book.run(id).figures.movementS);
  return { names, units, columns: columns.map((column) => new Float32Array(column)) };
}
