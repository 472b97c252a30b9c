/**
 * The newest live event and its age. An event older than three periods, and at least 0.3 s, is stale: the answer is null, never the last
 * value. While frozen it answers with the event of that moment, until released or until the state changes; a launch cannot be frozen.
 */
import type { LiveEvent } from "../../shared/contract/contract.ts";

export interface LiveFeed {
  push(live: LiveEvent, nowMs: number): void;
  /** The event while it is fresh. */
  fresh(nowMs: number): LiveEvent | null;
  /** Whole seconds of silence; null while fresh or before the first event. */
  silentS(nowMs: number): number | null;
  freeze(on: boolean): void;
  frozen(): boolean;
}

const LEAST_MS = 300;
/** Follows the sender's rate slowly, so that one late event does not lengthen the limit. */
const PACE = 0.1;

export function createLiveFeed(): LiveFeed {
  let last: LiveEvent | null = null;
  let atMs = 0;
  let periodMs = LEAST_MS / 3;
  let still: LiveEvent | null = null;
  const stale = (nowMs: number) => nowMs - atMs > Math.max(LEAST_MS, 3 * periodMs);
  return {
    push(live, nowMs) {
      // A pause is a fault, not a slower rate.
      if (last !== null && !stale(nowMs)) periodMs += (nowMs - atMs - periodMs) * PACE;
      last = live;
      atMs = nowMs;
      if (still?.state !== live.state) still = null;
    },
    fresh: (nowMs) => still ?? (last === null || stale(nowMs) ? null : last),
    silentS: (nowMs) => (last === null || !stale(nowMs) ? null : Math.floor((nowMs - atMs) / 1000)),
    freeze(on) {
      still = on && last?.state !== "launched" ? last : null;
    },
    frozen: () => still !== null,
  };
}
