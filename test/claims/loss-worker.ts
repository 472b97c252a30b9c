/** Judges a test day's lost time in a thread of its own: takes class and seed, posts back outcomes. An error ends the whole run with its seed. */
import { parentPort } from "node:worker_threads";
import { judgeLossDay } from "./judge-loss-day.ts";
import type { TuneDayClass } from "./tune-day.ts";

export interface LossJob {
  readonly seed: number;
  readonly day: TuneDayClass;
}

parentPort?.on("message", ({ seed, day }: LossJob) => {
  try {
    parentPort?.postMessage(judgeLossDay(seed, day));
  } catch (cause) {
    throw new Error(`Claims: lost time, seed ${seed}, ${JSON.stringify(day)}`, { cause });
  }
});
