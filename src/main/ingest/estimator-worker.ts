/**
 * The estimator in a thread of its own: takes packets and questions, answers in the same order. A question that fails is answered with its
 * reason.
 */
import { setPriority } from "node:os";
import { parentPort, workerData } from "node:worker_threads";
import { answerOf, createLiveEstimator, type EstimatorOptions } from "../../shared/pipeline/live-estimator.ts";
import type { FromEstimator, ToEstimator } from "../adapters/host/estimator-messages.ts";
import { lineOf } from "../core/basics/failure.ts";

/**
 * Lower priority than reading bytes and drawing, which must not wait. Only Linux has a priority for each thread; elsewhere it is the
 * process's.
 */
const NICE = 10;

if (parentPort === null) throw new TypeError("estimator: expected to run as a thread");
const port = parentPort;
if (process.platform === "linux") setPriority(0, NICE);

const estimator = createLiveEstimator(workerData as EstimatorOptions);
const say = (message: FromEstimator) => port.postMessage(message);

port.on("message", (message: ToEstimator) => {
  for (const packet of message.packets) estimator.push(packet);
  if (message.kind === "reopen") estimator.reopen(message.stream);
  if (message.kind !== "ask") return;
  const { id, name, argument } = message;
  try {
    say({ id, ok: true, answer: answerOf(estimator, name, argument) });
  } catch (error) {
    say({ id, ok: false, error: lineOf(error) });
  }
});
