/** Does every class of faults to one drive, in a thread of its own. An error ends the whole run with its seed. */
import { parentPort } from "node:worker_threads";
import { faultCases } from "./fault-sweep.ts";

export interface FaultJob {
  readonly car: "first" | "second";
  readonly seed: number;
}

parentPort?.on("message", ({ car, seed }: FaultJob) => {
  try {
    parentPort?.postMessage(faultCases(car, seed));
  } catch (cause) {
    throw new Error(`Claims: faults, ${car} car, seed ${seed}`, { cause });
  }
});
