/**
 * Stored runs as comparisons need them, in driving order, and the gates and groups that a book offers. An unknown gate throws RangeError
 * with the known ones.
 */
import { gateEnds, startOfGate } from "../../../shared/launch/gate.ts";
import { marked } from "../../../shared/kernel/shown-units.ts";
import type { JudgedRun } from "../../../shared/judge/judged-run.ts";
import type { StartName } from "../../../shared/launch/gate-result.ts";
import type { Book, StoredRun } from "../../ports/book.ts";
import { UNARMED } from "../../../shared/run/unarmed.ts";
import { gatesOf } from "./own-gates.ts";
import { runFacts } from "../library/run-facts.ts";
import { toldFlags } from "../library/told-flags.ts";

/** A gate at which runs of the book were timed. */
export interface TimedGate {
  readonly gate: string;
  readonly start: StartName;
  /** Number of runs with a time at it. */
  readonly runs: number;
}

export function resultOf({ figures }: StoredRun, gate: string, start: StartName) {
  return figures.gates.find((result) => result.gate === gate && result.start === start);
}

/** Every gate with a time in any run, standard gates first. */
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

/** Rolling and stopping gates have only one possible start. */
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

/** All runs of the book in driving order. */
export function judgedRuns(book: Book, gate: string, start: StartName): JudgedRun[] {
  const told = toldFlags(book);
  const stored = book.runs();
  const facts = runFacts(book, stored);
  return stored
    .map((run, i): JudgedRun => {
      const result = resultOf(run, gate, start);
      const seconds = result?.seconds ?? null;
      return {
        ...(facts[i] as (typeof facts)[0]),
        final: run.final,
        seconds,
        plusMinus95: result?.plusMinus95 ?? null,
        ...(seconds === null ? { why: (result?.why && marked(result.why)) ?? "this gate was not timed then; `rederive` times it" } : {}),
        note: run.note,
        // A person can only set a run aside once it is stored, and a stored run's time is on the screen.
        setAsideAfterTimeSeen: run.use || run.note === UNARMED ? null : seconds !== null,
        flags: told(run).filter((flag) => flag.overruled === undefined),
        calibrationId: run.calibration,
      };
    })
    .sort((x, y) => x.drivenAt - y.drivenAt || x.id - y.id);
}
