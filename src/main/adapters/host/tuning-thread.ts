/**
 * Fits car and tyres in a thread of its own, which reads the book itself, so that no byte waits for it. The thread starts with the first
 * question. When it dies, its open questions are rejected with the reason, and the next question starts another thread.
 */
import { Worker } from "node:worker_threads";
import type { RunTuneView, SpinView, TuneView } from "../../../shared/contract/tune-views.ts";
import type { Listening } from "../../ports/set-up-desk.ts";
import type { Tuning } from "../../ports/tuning.ts";
import type { FromTuning, ToTuning } from "./tuning-messages.ts";
import { wordsOf } from "../../../shared/kernel/words-of.ts";
import { ownModule } from "../../own-modules.ts";

type Question = { [Name in "read" | "run" | "spin"]: { readonly name: Name; readonly asked: Parameters<Tuning[Name]>[0] } }[
  | "read"
  | "run"
  | "spin"];

interface Waiting {
  /** Null where nobody asked how far it is. */
  readonly listening: Listening | null;
  resolve(answer: unknown): void;
  reject(error: Error): void;
}

/** `book`: its present file is asked for with each question. */
export function startTuningThread(book: { readonly file: string }): Tuning {
  const waiting = new Map<number, Waiting>();
  let worker: Worker | null = null;
  let nextId = 1;

  function end(why: string): void {
    const old = worker;
    worker = null;
    for (const { reject } of waiting.values()) reject(new Error(`Where the time went: ${why}`));
    waiting.clear();
    void old?.terminate();
  }

  function running(): Worker {
    if (worker !== null) return worker;
    const made = new Worker(ownModule("tuning"));
    worker = made;
    made.on("message", (message: FromTuning) => {
      const asked = waiting.get(message.id);
      if ("step" in message) {
        asked?.listening?.onStep(message.step, message.share);
        return;
      }
      waiting.delete(message.id);
      if (message.ok) asked?.resolve(message.answer);
      else asked?.reject(new RangeError(message.error));
    });
    made.on("error", (error) => {
      if (worker === made) end(wordsOf(error));
    });
    made.on("exit", (code) => {
      if (worker === made) end(`its thread ended with code ${code}; ask again`);
    });
    // Measuring decides how long the process lives.
    made.unref();
    return made;
  }

  function ask(question: Question, listening: Listening | null = null) {
    const id = nextId;
    nextId += 1;
    const thread = running();
    return new Promise<unknown>((resolve, reject) => {
      waiting.set(id, { listening, resolve, reject });
      thread.postMessage({ id, file: book.file, ...question } satisfies ToTuning);
      const signal = listening?.signal;
      signal?.addEventListener("abort", () => {
        if (!waiting.delete(id)) return;
        if (worker === thread) thread.postMessage({ cancel: id } satisfies ToTuning);
        reject(signal.reason as Error);
      });
    });
  }

  return {
    read: (asked, listening) => ask({ name: "read", asked }, listening) as Promise<TuneView>,
    run: (asked) => ask({ name: "run", asked }) as Promise<RunTuneView>,
    spin: (asked) => ask({ name: "spin", asked }) as Promise<SpinView>,
    close: () => end("it was closed"),
  };
}
