/** Stored runs as the judge needs them, in the order driven, and which gates and groups a book offers. An unknown gate throws RangeError with those that are known. */
import { gateEnds, startOfGate } from "../../../shared/launch/gate.ts";
import type { JudgedRun } from "../../../shared/judge/judged-run.ts";
import type { StartName } from "../../../shared/launch/gate-result.ts";
import type { Book, Recording, StoredRun } from "../../ports/book.ts";
import { UNARMED } from "../../../shared/run/unarmed.ts";
import { gatesOf } from "./own-gates.ts";
import { toldFlags } from "../library/told-flags.ts";

/** A gate that runs of the book were timed at. */
export interface TimedGate {
  readonly gate: string;
  readonly start: StartName;
  /** How many runs have a time there. */
  readonly runs: number;
}

/** What tells one receiver's times from another's: its port, or the logs they came from. */
function receiverOf({ origin, setUp }: Recording): string {
  if (origin === "simulated") return "the simulated receiver";
  const { sources } = JSON.parse(setUp.text) as { sources?: { gnss?: { port?: string } } };
  return origin === "import" ? "logs" : (sources?.gnss?.port ?? "logs");
}

export function resultOf({ figures }: StoredRun, gate: string, start: StartName) {
  return figures.gates.find((result) => result.gate === gate && result.start === start);
}

/** Every gate with a time in any run, standard ones first. */
export function timedGates(book: Book): TimedGate[] {
  const names = gatesOf(book).map((gate) => gate.name);
  const counts = new Map<string, TimedGate>();
  for (const { figures } of book.runs()) {
    for (const { gate, start, seconds } of figures.gates) {
      const key = `${gate}/${start}`;
      const before = counts.get(key)?.runs ?? 0;
      counts.set(key, { gate, start, runs: before + (seconds === null ? 0 : 1) });
    }
  }
  const place = ({ gate }: TimedGate) => (names.includes(gate) ? names.indexOf(gate) : names.length);
  return [...counts.values()].filter(({ runs }) => runs > 0).sort((x, y) => place(x) - place(y));
}

/** Rolling and stopping gates have no start of their own to choose. */
export function startFor(book: Book, gate: string, wanted: StartName | undefined): StartName {
  const known = gatesOf(book).find(({ name }) => name === gate);
  if (known === undefined) {
    const names = gatesOf(book).map(({ name }) => name);
    throw new RangeError(`Gate ${JSON.stringify(gate)} is unknown: name one of ${names.join(", ")}, or add it with \`gates --add\``);
  }
  if (wanted === undefined) return startOfGate(known);
  const { starts } = gateEnds(known);
  if (!starts.includes(wanted)) throw new RangeError(`Gate ${gate} is timed from ${starts.join(" or ")}, not from ${wanted}`);
  return wanted;
}

/** All runs of the book in the order driven. */
export function judgedRuns(book: Book, gate: string, start: StartName): JudgedRun[] {
  const told = toldFlags(book);
  const recordings = new Map(book.recordings().map((recording) => [recording.id, recording]));
  return book
    .runs()
    .map((run): JudgedRun => {
      const recording = recordings.get(run.recording) as Recording;
      const result = resultOf(run, gate, start);
      const seconds = result?.seconds ?? null;
      return {
        id: run.id,
        label: run.label,
        final: run.final,
        drivenAt: recording.baseUtcUs / 1e6 + run.figures.movementS,
        seconds,
        plusMinus95: result?.plusMinus95 ?? null,
        ...(seconds === null ? { why: result?.why ?? "this gate was not timed then; `rederive` times it" } : {}),
        courseDeg: run.figures.courseDeg,
        use: run.use,
        note: run.note,
        // A person can only set a run aside once it is stored, and a stored run's time is on the screen.
        setAsideAfterTimeSeen: run.use || run.note === UNARMED ? null : seconds !== null,
        flags: told(run).filter((flag) => flag.overruled === undefined),
        conditions: run.conditions,
        measured: run.figures.measured,
        calibrationId: run.calibration,
        receiver: receiverOf(recording),
      };
    })
    .sort((x, y) => x.drivenAt - y.drivenAt || x.id - y.id);
}
