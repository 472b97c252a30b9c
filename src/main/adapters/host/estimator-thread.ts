/**
 * Runs the estimator in a thread of its own, so that no fit delays a byte, a picture or a commit. A failure is reported and answers null:
 * recording continues, and closing the recording times its runs. Once the thread has died, every question is answered this way.
 */
import { Worker } from "node:worker_threads";
import type { Estimates, EstimatorOptions } from "../../../shared/pipeline/live-estimator.ts";
import type { Packet } from "../../../shared/pipeline/packet.ts";
import type { FromEstimator, ToEstimator } from "./estimator-messages.ts";
import { wordsOf } from "../../../shared/kernel/words-of.ts";
import { ownModule } from "../../own-modules.ts";

/** Packets are sent together at this interval: a full bus gives some hundreds of packets a second. */
const GATHER_NS = 50e6;
/** A thread with this many bytes since its last answer cannot keep up: five minutes of a full bus, while a question is asked every 15 s. */
const MOST_BEHIND_BYTES = 64 * 2 ** 20;

export function startEstimatorThread(
  options: EstimatorOptions,
  onTrouble: (text: string) => void,
  mostBehindBytes = MOST_BEHIND_BYTES,
): Estimates {
  const worker = new Worker(ownModule("estimator"), { workerData: options });
  const waiting = new Map<number, (answer: unknown) => void>();
  let packets: Packet[] = [];
  let nextId = 1;
  let behindBytes = 0;
  let alive = true;

  /** Answers everyone who still waits. */
  function end(): void {
    alive = false;
    packets = [];
    for (const then of [...waiting.values()]) then(null);
    waiting.clear();
  }

  function dead(why: string): void {
    if (!alive) return;
    onTrouble(`Launches are not timed while driving: ${why}. Recording goes on; closing it times them.`);
    end();
    void worker.terminate();
  }

  worker.on("message", (message: FromEstimator) => {
    behindBytes = 0;
    const then = waiting.get(message.id);
    waiting.delete(message.id);
    if (!message.ok) onTrouble(`A launch could not be timed while driving: ${message.error}. Closing the recording times it.`);
    then?.(message.ok ? message.answer : null);
  });
  worker.on("error", (error) => dead(wordsOf(error)));
  worker.on("exit", (code) => dead(`the timing thread ended with code ${code}`));
  // The recording, not this thread, decides how long the process lives.
  worker.unref();

  const post = (message: ToEstimator) => {
    if (alive) worker.postMessage(message);
    packets = [];
  };

  return {
    push(packet) {
      if (!alive) return;
      packets.push(packet);
      behindBytes += packet.bytes.length;
      if (behindBytes > mostBehindBytes) return dead("the timing thread does not keep up");
      if (packet.arrivalNs - (packets[0] as Packet).arrivalNs >= GATHER_NS) post({ kind: "packets", packets });
    },
    reopen: (stream) => post({ kind: "reopen", stream, packets }),
    ask(name, argument, then) {
      if (!alive) return then(null);
      const id = nextId++;
      waiting.set(id, then as (answer: unknown) => void);
      post({ kind: "ask", id, name, argument, packets } as ToEstimator);
    },
    close() {
      end();
      void worker.terminate();
    },
  };
}
