/** A book's runs for tuning: those in use, of the newest car. What is left out says why. A set-up that cannot be read throws SetUpError. */
import { flagWords } from "../../../shared/run/flag-words.ts";
import type { Flag } from "../../../shared/run/run.ts";
import type { CarSetUp } from "../../../shared/setup/set-up.ts";
import type { LeftOut } from "../../../shared/tune/left-out.ts";
import { type TuneRun, tuneRun } from "../../../shared/tune/tune-run.ts";
import { isTuneRole } from "../../../shared/tune/tune-samples.ts";
import { keepsFromGrip, keepsFromGroup } from "../../../shared/tune/usable-run.ts";
import type { Book, StoredRun } from "../../ports/book.ts";
import { breathe } from "../basics/breathe.ts";
import { orNotReadable } from "../basics/or-not-readable.ts";
import { parseSetUp } from "../../../shared/setup/set-up-text.ts";
import { toldFlags } from "../library/told-flags.ts";

export interface TuneRuns {
  /** In driving order; all of them can be used for grip. */
  readonly runs: readonly TuneRun[];
  /** Those of them that cannot be used for their group, and those that cannot be used at all. */
  readonly leftOut: readonly LeftOut[];
  /** Whether a run is used for its group. */
  readonly counts: (run: number) => boolean;
}

function carsOf(book: Book): (run: StoredRun) => CarSetUp {
  const cars = new Map<number, CarSetUp>();
  return ({ recording }) => {
    let car = cars.get(recording);
    if (car === undefined) {
      car = parseSetUp(book.recording(recording).setUp.text, `Set-up of recording ${recording}`).car;
      cars.set(recording, car);
    }
    return car;
  };
}

const remedy = ({ flag, why }: Flag) => `${why} Overrule the flag "${flagWords({ flag })}" with a note, or drive it again.`;

/** Reads every run's samples and lets other work run in between. `step`: awaited before each run, with the share that was read. */
export async function tuneRuns(book: Book, step: (share: number) => Promise<void> = () => breathe()): Promise<TuneRuns> {
  const told = toldFlags(book);
  const carOf = carsOf(book);
  const used = book.runs().filter((run) => run.use && run.found);
  const newest = used.at(-1);
  const car = newest === undefined ? "" : JSON.stringify(carOf(newest));
  const runs: TuneRun[] = [];
  const leftOut: LeftOut[] = [];
  const not = new Set<number>();
  for (const [i, run] of used.entries()) {
    const flags = told(run);
    const other = JSON.stringify(carOf(run)) !== car;
    const broken = keepsFromGrip(flags);
    const apart = keepsFromGroup(flags);
    if (other)
      leftOut.push({
        run: run.id,
        kind: "another set-up of the car",
        why: "Driven with another set-up of the car: rederive it with the newest.",
      });
    else if (apart !== null) leftOut.push({ run: run.id, kind: flagWords(apart), why: remedy(apart) });
    if (other || apart !== null) not.add(run.id);
    if (other || broken !== null) continue;
    await step(i / used.length);
    const samples = orNotReadable(() => book.samples(run.id, isTuneRole).samples);
    if (samples === null) {
      leftOut.push({
        run: run.id,
        kind: "damaged samples",
        why: "Its samples are damaged: `rederive` computes them again from the journal.",
      });
      not.add(run.id);
      continue;
    }
    runs.push(
      tuneRun({
        id: run.id,
        label: run.label,
        conditions: run.conditions,
        figures: { ...run.figures, flags },
        samples,
        car: carOf(run),
        calibrationId: run.calibration,
        calibration: run.calibration === null ? null : book.calibration(run.calibration).calibration,
      }),
    );
  }
  return { runs, leftOut, counts: (run) => !not.has(run) };
}
