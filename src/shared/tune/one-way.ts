/** Whether runs all went one way, so that slope and wind are in every one of them. Runs of unknown course tell nothing: where none is known the answer is no. */
import type { TuneRun } from "./tune-run.ts";

/** Cosine of two courses; below this they are against each other. */
const OPPOSITE = -0.5;

export function wentOneWay(runs: readonly Pick<TuneRun, "courseDeg">[]): boolean {
  const known = runs.flatMap(({ courseDeg }) => courseDeg ?? []);
  const [first] = known;
  return first !== undefined && known.every((course) => Math.cos(((course - first) * Math.PI) / 180) > OPPOSITE);
}
