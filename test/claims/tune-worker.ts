/** Judges test days in a thread of its own: takes class and seed, posts back what was claimed. An error ends the whole run with its seed. */
import { parentPort } from "node:worker_threads";
import { judgeTuneDay } from "./judge-tune-day.ts";
import type { TuneDayClass } from "./tune-day.ts";

export interface TuneJob {
  readonly seed: number;
  readonly day: TuneDayClass;
  readonly offs: readonly number[];
}

parentPort?.on("message", ({ seed, day, offs }: TuneJob) => {
  try {
    parentPort?.postMessage(judgeTuneDay(seed, day, offs));
  } catch (cause) {
    throw new Error(`Claims: test day, seed ${seed}, ${JSON.stringify(day)}`, { cause });
  }
});
