/** Grip and lost time of every run of a book, without intervals: what the archive gets. What is unknown says why. */
import type { RunTune } from "../../../shared/report/run-tune.ts";
import { curveFor, eachLosses } from "../../../shared/tune/group-losses.ts";
import type { FittedCar } from "../../../shared/tune/fitted-car.ts";
import type { RunLosses } from "../../../shared/tune/loss-count.ts";
import type { TuneRun } from "../../../shared/tune/tune-run.ts";
import type { Book } from "../../ports/book.ts";
import { breathe } from "../basics/breathe.ts";
import { askedOf, fittedOf } from "./advise-book.ts";

const NOT_USED = "Set aside, or no longer found: use it again to see where its time went.";

/** Runs of one label on one surface are counted together: a surface whose peak was not reached must not hide the others. */
export async function tuneFigures(book: Book): Promise<(run: number) => RunTune> {
  const { gate, start } = askedOf(book, undefined);
  const { found, car, grip } = await fittedOf(book);
  const each = new Map<number, RunLosses>();
  const why = new Map<number, string>(found.leftOut.map((left) => [left.run, left.why]));
  const labels = new Map(book.runs().map(({ id, label }) => [id, label]));
  const groups = new Map<string, TuneRun[]>();
  for (const run of found.runs.filter(({ id }) => car !== null && found.counts(id))) {
    const isTimed = run.gates.some((result) => result.gate === gate.name && result.start === start && result.seconds !== null);
    if (!isTimed) {
      why.set(run.id, `No time for ${gate.name}`);
      continue;
    }
    const key = JSON.stringify([labels.get(run.id), run.surface]);
    const alike = groups.get(key) ?? [];
    alike.push(run);
    groups.set(key, alike);
  }
  for (const runs of groups.values()) {
    await breathe();
    // No answer of it names the label.
    const counted = eachLosses({ label: "", runs, gate, start, car: car as FittedCar, curves: grip });
    for (const { id } of runs) if (counted.why !== null) why.set(id, counted.why);
    for (const losses of counted.each) each.set(losses.run, losses);
  }
  const byId = new Map(found.runs.map((run) => [run.id, run]));
  return (id) => {
    const run = byId.get(id);
    const curve = run === undefined ? undefined : curveFor(grip, run);
    const own = each.get(id);
    return {
      gate: gate.name,
      bestSlip: curve?.bestSlip?.value ?? null,
      peakFriction: curve?.peakFriction?.value ?? null,
      ownGrip: curve?.runGrip.find((one) => one.run === id)?.ratio.value ?? null,
      quickestS: own?.quickest ?? null,
      losses: own?.losses ?? null,
      why: own === undefined ? (why.get(id) ?? NOT_USED) : null,
    };
  };
}
