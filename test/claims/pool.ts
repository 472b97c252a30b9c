/** A thread for each core, at most four, that judge cases in the order asked. A case that throws rejects the run. */
import { availableParallelism } from "node:os";
import { Worker } from "node:worker_threads";

export interface Pool<Job, Result> {
  run(jobs: readonly Job[]): Promise<Result[]>;
  close(): Promise<void>;
}

/** `worker`: a file beside this one that answers each message with one. */
export function createPool<Job, Result>(worker: string, threads = Math.min(4, availableParallelism())): Pool<Job, Result> {
  const workers = Array.from({ length: threads }, () => new Worker(new URL(worker, import.meta.url)));
  return {
    run: (jobs) =>
      new Promise((resolve, reject) => {
        const results = new Array<Result>(jobs.length);
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
          worker.on("message", (result: Result) => {
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
