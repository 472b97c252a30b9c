/** Two threads that judge cases in the order asked. A case that throws rejects the run. */
import { availableParallelism } from "node:os";
import { Worker } from "node:worker_threads";
import type { Job } from "./claims-worker.ts";
import type { CaseResult } from "./judge-case.ts";

export interface Pool {
  run(jobs: readonly Job[]): Promise<CaseResult[]>;
  close(): Promise<void>;
}

export function createPool(threads = Math.min(4, availableParallelism())): Pool {
  const workers = Array.from({ length: threads }, () => new Worker(new URL("./claims-worker.ts", import.meta.url)));
  return {
    run: (jobs) =>
      new Promise((resolve, reject) => {
        const results = new Array<CaseResult>(jobs.length);
        let next = 0;
        let left = jobs.length;
        for (const worker of workers) {
          let current = -1;
          const feed = (): void => {
            if (next < jobs.length) {
              current = next;
              next += 1;
              worker.postMessage(jobs[current]);
            }
          };
          worker.removeAllListeners();
          worker.on("error", reject);
          worker.on("message", (result: CaseResult) => {
            results[current] = result;
            left -= 1;
            if (left === 0) resolve(results);
            else feed();
          });
          feed();
        }
      }),
    close: async () => {
      await Promise.all(workers.map((worker) => worker.terminate()));
    },
  };
}
