/** Long work, told to the screens as it goes and ended when a person cancels it. Cancelled work rejects with one line; nothing of it is kept here. */
import { CANCELLED } from "../../../shared/contract/contract-error.ts";
import type { CoreEvent, WorkName } from "../../../shared/contract/contract.ts";
import type { Listening } from "../../ports/set-up-desk.ts";

export interface Works {
  run<T>(name: WorkName, work: (listening: Listening) => Promise<T>): Promise<T>;
  /** Resolves when the work is over. Nothing of that name at work is no error: it may have ended a moment ago. */
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
      // Whoever cancels waits for the end, not for the outcome.
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
