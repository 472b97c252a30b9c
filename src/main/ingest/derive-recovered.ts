/**
 * Derives recordings whose process died, before anything new is recorded, in slices between which requests are answered. It reports its
 * progress and can be postponed.
 */
import type { CoreEvent } from "../../shared/contract/contract.ts";
import type { Recovery } from "../core/deriving/recover.ts";
import { tellOpened } from "../open-book.ts";

const SLICE_MS = 20;
/** The progress bar is moved by visible steps. */
const LEAST_SHARE = 0.005;

export interface RecoveryDrive {
  /** Postpones it: those runs stay provisional. */
  stop(): void;
  /** The process ends; this begins again at the next start. */
  leave(): void;
}

/** `onDone` is called once, whether everything was derived or it was postponed. */
export function deriveRecovered(recovery: Recovery, emit: (event: CoreEvent) => void, onDone: () => void): RecoveryDrive {
  const steps = recovery.derive();
  const tell = (share: number | null) => {
    const words = share === null ? null : "Deriving the runs of a recording that was interrupted";
    emit({ event: "work", work: "closing", words, share, cancellable: share !== null });
  };
  let told = Number.NEGATIVE_INFINITY;

  function end(lines: readonly string[]): void {
    if (recovery.waiting.length > 0) tell(null);
    tellOpened(lines, emit);
    onDone();
  }

  function slice(): void {
    const until = performance.now() + SLICE_MS;
    while (performance.now() < until) {
      const step = steps.next();
      if (step.done === true) {
        end(step.value);
        return;
      }
      if (step.value - told < LEAST_SHARE) continue;
      told = step.value;
      tell(told);
    }
    timer = setImmediate(slice);
  }

  let timer = setImmediate(slice);
  return {
    stop() {
      clearImmediate(timer);
      steps.return([]);
      end(recovery.waiting);
    },
    leave() {
      clearImmediate(timer);
    },
  };
}
