/**
 * Long work: its progress is sent to the screens, and a person can cancel it. Cancelled work rejects with one line and leaves nothing here.
 */
import { CANCELLED } from "../../../shared/contract/contract-error.ts";
import type { CoreEvent, WorkName } from "../../../shared/contract/contract.ts";
import type { Listening } from "../../ports/set-up-desk.ts";

export interface Works {
  run<T>(name: WorkName, work: (listening: Listening) => Promise<T>): Promise<T>;
  /** Resolves when the work is over. No error where no such work is running: it may just have ended. */
  cancel(name: WorkName): Promise<void>;
  cancelAll(): void;
}

interface Running {
  readonly controller: AbortController;
  readonly over: Promise<unknown>;
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
    await found.over;
  }

  return {
    async run(name, work) {
      if (running.has(name)) throw new RangeError(`${name}: under way already; cancel it or wait for its end`);
      const controller = new AbortController();
      const done = work({
        signal: controller.signal,
        onStep(words, share) {
          if (!controller.signal.aborted) emit({ event: "work", work: name, words, share, cancellable: true });
        },
      });
      // Cancelling waits for the end of the work, not for its result.
      const over = done.catch(() => undefined);
      running.set(name, { controller, over });
      try {
        return await done;
      } finally {
        running.delete(name);
        emit({ event: "work", work: name, words: null, share: null, cancellable: false });
      }
    },
    cancel,
    cancelAll() {
      for (const name of running.keys()) void cancel(name);
    },
  };
}
