/**
 * Stores the first simulated day in slices, so that requests are answered meanwhile, and reports its progress. What cannot be stored
 * throws.
 */
import type { CoreEvent } from "../../shared/contract/contract.ts";
import type { FirstDay } from "../core/deriving/simulated-day.ts";

/** Longest time between two looks for requests. */
const SLICE_MS = 20;
/** Share of storing; the rest is deriving. */
const STORED_SHARE = 0.6;
/** The progress bar is moved by visible steps. */
const LEAST_SHARE = 0.005;

export interface FirstDayDrive {
  /** Ends the day: what was driven so far is kept and timed. */
  stop(): void;
  /** Leaves it unfinished because the process ends; it continues at the next start. */
  leave(): void;
}

/** `onDone` gets the ids of the stored runs. */
export function driveFirstDay(day: FirstDay, emit: (event: CoreEvent) => void, onDone: (runs: readonly number[]) => void): FirstDayDrive {
  let stopped = false;
  let told = { words: "", share: 0 };
  const tell = (words: string | null, share: number | null) =>
    emit({ event: "work", work: "first-day", words, share, cancellable: words !== null && !stopped });

  function slice(): void {
    const until = performance.now() + SLICE_MS;
    while (performance.now() < until) {
      const step = day.steps.next(stopped ? "stop" : undefined);
      if (step.done === true) {
        tell(null, null);
        onDone(step.value.runs);
        return;
      }
      const { doing, storedS, derived } = step.value;
      const share = STORED_SHARE * Math.min(1, storedS / day.lengthS) + (1 - STORED_SHARE) * derived;
      const words =
        doing === "storing"
          ? `Driving a simulated day so that the book is not empty: ${Math.floor(storedS / 60)} min so far`
          : "Timing the launches of the simulated day";
      if (words === told.words && share - told.share < LEAST_SHARE) continue;
      told = { words, share };
      tell(words, share);
    }
    timer = setImmediate(slice);
  }

  let timer = setImmediate(slice);
  return {
    stop() {
      stopped = true;
    },
    leave() {
      clearImmediate(timer);
    },
  };
}
