/** Judges cases in a thread of its own: takes class and seeds, posts back results one by one. An error ends the whole run with its seed. */
import { parentPort } from "node:worker_threads";
import type { DriveClass } from "../support/second-car/recipe.ts";
import { judgeCase } from "./judge-case.ts";
import { firstCarDrive } from "./first-car.ts";
import { secondCarDrive } from "./known-drive.ts";

export interface Job {
  readonly car: "first" | "second";
  readonly kind: DriveClass;
  readonly seed: number;
  readonly withBound: boolean;
}

parentPort?.on("message", (job: Job) => {
  try {
    parentPort?.postMessage(
      judgeCase(job.car === "first" ? firstCarDrive(job.seed, job.kind) : secondCarDrive(job.seed, job.kind, job.withBound)),
    );
  } catch (cause) {
    throw new Error(`Claims: ${job.car} car, seed ${job.seed}, ${JSON.stringify(job.kind)}`, { cause });
  }
});
