/**
 * Derives a closed recording while screens still get answers. When cancelled it rejects: the recording is complete, and its runs stay
 * provisional until the book is opened again.
 */
import type { Clock } from "../../ports/clock.ts";
import { breathe } from "../basics/breathe.ts";
import type { Works } from "../basics/works.ts";

/** It works this long before it lets other work run. */
export const BREATH_NS = 20e6;

/** Runs the steps of `LiveRecording.close()` and gives the final runs' ids. */
export function deriveSlowly<R>(steps: Generator<number, R, undefined>, { works, clock }: { works: Works; clock: Clock }): Promise<R> {
  return works.run("closing", async ({ signal, onStep }) => {
    let sinceNs = clock.monotonicNs();
    let step = steps.next();
    for (; step.done !== true; step = steps.next()) {
      if (clock.monotonicNs() - sinceNs < BREATH_NS) continue;
      onStep("Deriving the runs of the recording that was closed", step.value);
      await breathe();
      if (signal.aborted)
        throw new RangeError(
          "Cancelled: the recording is stored and closed, its runs are provisional; opening the book again, or `rederive`, makes them final",
        );
      sinceNs = clock.monotonicNs();
    }
    return step.value;
  });
}
