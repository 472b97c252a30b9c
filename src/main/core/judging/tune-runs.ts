/** A book's runs as the tune room works from them: those in use, of the newest car. What is left out says why. An unreadable set-up throws SetUpError. */
import type { Flag } from "../../../shared/run/run.ts";
import type { CarSetUp } from "../../../shared/setup/set-up.ts";
import { type TuneRun, tuneRun } from "../../../shared/tune/tune-run.ts";
import { keepsFromGrip, keepsFromGroup } from "../../../shared/tune/usable-run.ts";
import type { Book, StoredRun } from "../../ports/book.ts";
import { breathe } from "../basics/breathe.ts";
import { parseSetUp } from "../../../shared/setup/set-up-text.ts";
import { toldFlags } from "../library/told-flags.ts";

interface LeftOut {
  readonly run: number;
  readonly why: string;
}

export interface TuneRuns {
  /** In the order driven; all of them show the tyre. */
  readonly runs: readonly TuneRun[];
  /** Those of them that do not stand for their group, and those that show nothing. */
  readonly leftOut: readonly LeftOut[];
  /** Whether a run stands for its group. */
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

const remedy = ({ flag, why }: Flag) => `${why} Overrule the flag "${flag}" with a note, or drive it again.`;

/** Reads every run's samples, breathing between them. */
export async function tuneRuns(book: Book): Promise<TuneRuns> {
  const told = toldFlags(book);
  const carOf = carsOf(book);
  const used = book.runs().filter((run) => run.use && run.found);
  const newest = used.at(-1);
  const car = newest === undefined ? "" : JSON.stringify(carOf(newest));
  const runs: TuneRun[] = [];
  const leftOut: LeftOut[] = [];
  const not = new Set<number>();
  for (const run of used) {
    const flags = told(run);
    const other = JSON.stringify(carOf(run)) !== car;
    const broken = keepsFromGrip(flags);
    const apart = keepsFromGroup(flags);
    if (other) leftOut.push({ run: run.id, why: "Another set-up of the car was in force: rederive it with the newest." });
    else if (apart !== null) leftOut.push({ run: run.id, why: remedy(apart) });
    if (other || apart !== null) not.add(run.id);
    if (other || broken !== null) continue;
    await breathe();
    runs.push(
      tuneRun({
        id: run.id,
        label: run.label,
        conditions: run.conditions,
        figures: { ...run.figures, flags },
        samples: book.samples(run.id).samples,
        car: carOf(run),
        calibrationId: run.calibration,
        calibration: run.calibration === null ? null : book.calibration(run.calibration).calibration,
      }),
    );
  }
  return { runs, leftOut, counts: (run) => !not.has(run) };
}
