/**
 * The core for those who are far away: one question at a time, and after each a rest as long as its answer took. Screens and measuring share
 * a process, so whatever is asked from the network, measuring keeps its time. Where too many wait, the next is refused.
 */
import type { CoreLink } from "../core-process.ts";

const MOST_WAITING = 64;
/** Answers that take longer are worked out in threads of their own, or while others are let by. */
const LONGEST_REST_MS = 1_000;

const sleep = (ms: number) => new Promise<void>((resolve) => setTimeout(resolve, ms).unref());

export function paced(core: CoreLink, nowMs = () => performance.now(), rest: (ms: number) => Promise<void> = sleep): CoreLink {
  let last: Promise<unknown> = Promise.resolve();
  let waiting = 0;
  return {
    request(name, argument) {
      if (waiting >= MOST_WAITING) return Promise.reject(new RangeError("Too much is asked from the network; look again in a moment"));
      waiting += 1;
      let fromMs = 0;
      const answer = last.then(() => {
        waiting -= 1;
        fromMs = nowMs();
        return core.request(name, argument);
      });
      const rested = () => rest(Math.min(LONGEST_REST_MS, nowMs() - fromMs));
      last = answer.then(rested, rested);
      return answer;
    },
    onEvent: core.onEvent,
  };
}
