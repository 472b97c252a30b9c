/**
 * Times a recording's launches in threads beside this one, which works with them. They start with the first task that is worth it and stay. Where none can
 * be had, or one fails, dies or keeps its answer back, this thread times what is missing, so that nothing is lost but time, and says so once.
 */
import { availableParallelism } from "node:os";
import { MessageChannel, type MessagePort, receiveMessageOnPort, Worker } from "node:worker_threads";
import { sharedRecording } from "../../../shared/align/shared-recording.ts";
import { wordsOf } from "../../../shared/kernel/words-of.ts";
import { type LaunchTask, type LaunchTeam, timedInline, timeLaunch, type Timing } from "../../../shared/pipeline/launch-team.ts";
import type { DerivedRun } from "../../../shared/run/run.ts";
import { ANSWERS, type FromLaunchWorker, type LaunchWorkerData, NEXT, type ToLaunchWorker } from "./launch-messages.ts";
import { ownModule } from "../../own-modules.ts";

/** A thread takes as long to start as a few launches take to be timed. */
const FEWEST_LAUNCHES = 12;
/** Each holds some tens of megabytes, and reading the recording is not done by several. */
const MOST_THREADS = 7;
/** So long this thread waits for an answer before its caller may look at other things. */
const WAIT_MS = 20;
/** Without an answer for this long, and for as long as several launches took here, one will not come: no event tells of a thread's end while this one works. */
const PATIENCE_MS = 3000;
const PATIENCE_LAUNCHES = 10;

export interface LaunchThreadsOptions {
  /** Told once, when timing goes on in one thread. */
  readonly onTrouble: (text: string) => void;
  /** Beside this one. Absent: one for each further core. */
  readonly threads?: number;
  /** Another module, patience or number is for tests. */
  readonly entry?: URL;
  readonly patienceMs?: number;
  readonly fewestLaunches?: number;
}

interface Member {
  readonly worker: Worker;
  readonly port: MessagePort;
}

export interface LaunchThreads extends LaunchTeam {
  close(): void;
}

export function createLaunchThreads(options: LaunchThreadsOptions): LaunchThreads {
  const { onTrouble, entry = ownModule("launch"), patienceMs = PATIENCE_MS, fewestLaunches = FEWEST_LAUNCHES } = options;
  const wanted = options.threads ?? Math.min(MOST_THREADS, availableParallelism() - 1);
  let members: Member[] | null = null;
  let isAlone = wanted < 1;
  let lastId = 0;

  function close(): void {
    for (const { worker } of members ?? []) void worker.terminate();
    members = null;
  }

  function goOnAlone(why: string): void {
    if (isAlone) return;
    isAlone = true;
    close();
    onTrouble(`Launches are timed by one thread from here on, which takes longer: ${why}`);
  }

  function start(): Member {
    const { port1, port2 } = new MessageChannel();
    const worker = new Worker(entry, { workerData: { port: port2 } satisfies LaunchWorkerData, transferList: [port2] });
    worker.on("error", (error) => goOnAlone(wordsOf(error)));
    worker.on("exit", (code) => {
      if (members?.some((member) => member.worker === worker) === true) goOnAlone(`a timing thread ended with code ${code}`);
    });
    // Whoever wants the runs decides how long the process lives.
    worker.unref();
    port1.unref();
    return { worker, port: port1 };
  }

  return {
    close,
    time(given) {
      if (isAlone || given.launches.length < fewestLaunches) return timedInline(given);
      try {
        // Throws where this thread may not wait for another one.
        Atomics.wait(new Int32Array(new SharedArrayBuffer(Int32Array.BYTES_PER_ELEMENT)), 0, 1, 0);
        members ??= Array.from({ length: wanted }, start);
        const task = { ...given, recording: sharedRecording(given.recording) };
        const board = new Int32Array(new SharedArrayBuffer(2 * Int32Array.BYTES_PER_ELEMENT));
        const id = ++lastId;
        for (const { port } of members) port.postMessage({ id, task, board } satisfies ToLaunchWorker);
        return timedTogether({ task, board, id, patienceMs, ports: () => (members ?? []).map(({ port }) => port), goOnAlone });
      } catch (error) {
        // No memory or no thread to be had, or none to wait for.
        goOnAlone(wordsOf(error));
        return timedInline(given);
      }
    },
  };
}

interface Together {
  readonly task: LaunchTask;
  readonly board: Int32Array;
  readonly id: number;
  readonly patienceMs: number;
  /** Of the threads that are there. */
  readonly ports: () => readonly MessagePort[];
  readonly goOnAlone: (why: string) => void;
}

function timedTogether({ task, board, id, patienceMs, ports, goOnAlone }: Together): Timing {
  const count = task.launches.length;
  const timed = new Map<number, DerivedRun>();
  const failed = new Map<number, string>();
  let at = 0;
  let longestMs = 0;
  let heardMs = performance.now();

  function hear(): void {
    for (const port of ports()) {
      for (let got = receiveMessageOnPort(port); got !== undefined; got = receiveMessageOnPort(port)) {
        const answer = got.message as FromLaunchWorker;
        // Of a task that was dropped.
        if (answer.id !== id) continue;
        heardMs = performance.now();
        if ("run" in answer) timed.set(answer.index, answer.run);
        else failed.set(answer.index, answer.error);
      }
    }
  }

  function timeHere(index: number): void {
    const before = performance.now();
    timed.set(index, timeLaunch(task, index));
    heardMs = performance.now();
    longestMs = Math.max(longestMs, heardMs - before);
  }

  /** Whether another thread may still answer; waits for it a little. */
  function mayCome(answers: number): boolean {
    if (ports().length === 0) return false;
    if (performance.now() - heardMs > Math.max(patienceMs, PATIENCE_LAUNCHES * longestMs)) {
      goOnAlone("a timing thread gave no answer");
      return false;
    }
    Atomics.wait(board, ANSWERS, answers, WAIT_MS);
    return true;
  }

  return {
    recording: task.recording,
    isBeside: true,
    next() {
      const answers = Atomics.load(board, ANSWERS);
      hear();
      const why = failed.get(at);
      if (why !== undefined) {
        failed.delete(at);
        // What is wrong with the launch is thrown here too; otherwise it was the thread.
        timeHere(at);
        goOnAlone(why);
      }
      const run = timed.get(at);
      if (run !== undefined) {
        timed.delete(at);
        at += 1;
        return run;
      }
      const index = Atomics.add(board, NEXT, 1);
      if (index < count) timeHere(index);
      else if (!mayCome(answers)) timeHere(at);
      return null;
    },
    drop() {
      Atomics.store(board, NEXT, count);
    },
  };
}
