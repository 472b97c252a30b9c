/** Judges the wiring of days in a thread of its own: takes a job, posts back what was named. An error ends the whole run with its seed. */
import { parentPort } from "node:worker_threads";
import { judgeWiring, type WiringJob } from "./wiring-sweep.ts";

parentPort?.on("message", (job: WiringJob) => {
  try {
    parentPort?.postMessage(judgeWiring(job));
  } catch (cause) {
    throw new Error(`Wiring of the ${job.car} car, seed ${job.seed}, failed`, { cause });
  }
});
