/** Times launches beside other threads: takes the next one from the board until none is left, and answers with its run, or with why there is none. */
import { workerData } from "node:worker_threads";
import { ANSWERS, type FromLaunchWorker, type LaunchWorkerData, NEXT, type ToLaunchWorker } from "../adapters/host/launch-messages.ts";
import { timeLaunch } from "../../shared/pipeline/launch-team.ts";
import { wordsOf } from "../../shared/kernel/words-of.ts";

const { port } = workerData as LaunchWorkerData;

function answerOf({ id, task }: ToLaunchWorker, index: number): FromLaunchWorker {
  try {
    return { id, index, run: timeLaunch(task, index) };
  } catch (error) {
    return { id, index, error: wordsOf(error) };
  }
}

port.on("message", (message: ToLaunchWorker) => {
  const { board, task } = message;
  for (let index = Atomics.add(board, NEXT, 1); index < task.launches.length; index = Atomics.add(board, NEXT, 1)) {
    port.postMessage(answerOf(message, index));
    Atomics.add(board, ANSWERS, 1);
    Atomics.notify(board, ANSWERS);
  }
});
