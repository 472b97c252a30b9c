/**
 * Long work: its progress is sent to the screens, and a person can cancel it. Cancelled work rejects with one line and leaves nothing here.
 */
import { CANCELLED } from "../../../shared/contract/contract-error.ts";
import type { CoreEvent, WorkName } from "../../../shared/contract/contract.ts";
import type { Listening } from "../../ports/set-up-desk.ts";

export interface Works {
  run<T>(name: WorkName, work: (listening: Listening) => Promise<T>): Promise<T>;
  /** The same where several may ask for it at once: each works, and one Cancel is for all. */
  share<T>(name: WorkName, work: (listening: Listening) => Promise<T>): Promise<T>;
  /** Resolves when the work is over. No error where no such work is running: it may just have ended. */
  cancel(name: WorkName): Promise<void>;
  cancelAll(): void;
}

interface Running {
  readonly controller: AbortController;
  /** Those that are not over. */
  readonly going: Set<Promise<unknown>>;
}

export function createWorks(emit: (event: CoreEvent) => void): Works {
  const running = new Map<WorkName, Running>();

  async function cancel(name: WorkName): Promise<void> {
    const found = running.get(name);
    if (found === undefined) return;
    if (!found.controller.signal.aborted) {
      found.controller.abort(new RangeError(CANCELLED));
      emit({ event: "work", work: name, words: "Cancelling", share: null, cancellable: false });
    }
    await Promise.all(found.going);
  }

  async function share<T>(name: WorkName, work: (listening: Listening) => Promise<T>): Promise<T> {
    const before = running.get(name);
    const now =
      before === undefined || before.controller.signal.aborted
        ? { controller: new AbortController(), going: new Set<Promise<unknown>>() }
        : before;
    running.set(name, now);
    const { signal } = now.controller;
    const done = work({
      signal,
      onStep(words, part) {
        if (!signal.aborted) emit({ event: "work", work: name, words, share: part, cancellable: true });
      },
    });
    // Cancelling waits for the end of the work, not for its result.
    const over = done.catch(() => undefined);
    now.going.add(over);
    try {
      return await done;
    } finally {
      now.going.delete(over);
      if (now.going.size === 0 && running.get(name) === now) {
        running.delete(name);
        emit({ event: "work", work: name, words: null, share: null, cancellable: false });
      }
    }
  }

  return {
    async run(name, work) {
      if (running.has(name)) throw new RangeError(`${name}: under way already; cancel it or wait for its end`);
      return share(name, work);
    },
    share,
    cancel,
    cancelAll() {
      for (const name of running.keys()) void cancel(name);
    },
  };
}
