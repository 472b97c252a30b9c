/** Judges test days in a thread of its own: takes class and seed, posts back what was claimed of car and tyre, and of lost time where asked. An error ends the whole run with its seed. */
import { parentPort } from "node:worker_threads";
import { judgeLossDay, type LossCase, lossTruths } from "./judge-loss-day.ts";
import { judgeTuneDay, type TuneCase } from "./judge-tune-day.ts";
import { tuneDay, type TuneDayClass } from "./tune-day.ts";

export interface TuneJob {
  readonly seed: number;
  readonly day: TuneDayClass;
  readonly offs: readonly number[];
  readonly losses: boolean;
}

export interface TuneJudged {
  /** One for each of the job's set-ups. */
  readonly tune: readonly TuneCase[];
  /** Null where not asked for. */
  readonly losses: LossCase | null;
}

parentPort?.on("message", ({ seed, day, offs, losses }: TuneJob) => {
  try {
    const known = tuneDay(seed, day);
    const judged: TuneJudged = { tune: judgeTuneDay(known, seed, offs), losses: losses ? judgeLossDay(known, lossTruths(known)) : null };
    parentPort?.postMessage(judged);
  } catch (cause) {
    throw new Error(`Claims: test day, seed ${seed}, ${JSON.stringify(day)}`, { cause });
  }
});
