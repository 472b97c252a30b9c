/** Judges days under a known control in a thread of its own. An error ends the whole run with its seed. */
import { parentPort } from "node:worker_threads";
import { type ControlDayClass, judgeControlDay } from "./judge-control-day.ts";

export interface ControlJob {
  readonly seed: number;
  readonly day: ControlDayClass;
}

parentPort?.on("message", ({ seed, day }: ControlJob) => {
  try {
    parentPort?.postMessage(judgeControlDay(seed, day));
  } catch (cause) {
    throw new Error(`Claims: day under a control, seed ${seed}, ${JSON.stringify(day)}`, { cause });
  }
});
