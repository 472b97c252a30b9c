/**
 * Gathers what happened in a thread of its own, which reads the book itself, so that no byte waits for it. The thread ends with its answer; one that
 * fails rejects with its reason.
 */
import { Worker } from "node:worker_threads";
import { ownModule } from "../../own-modules.ts";

/** What the thread is given. */
export interface HappenedWork {
  readonly bookFile: string;
  readonly software: string;
  readonly utcUs: number;
  readonly withPositions: boolean;
}

export function readHappened(work: HappenedWork): Promise<string> {
  const worker = new Worker(ownModule("happened"), { workerData: work });
  // Measuring decides how long the process lives.
  worker.unref();
  return new Promise<string>((resolve, reject) => {
    worker.once("message", resolve);
    worker.once("error", reject);
    worker.once("exit", (code) => reject(new Error(`What happened: its thread ended with code ${code}; ask again`)));
  });
}
