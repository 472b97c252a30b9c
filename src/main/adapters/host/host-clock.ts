/** The computer's clocks. Monotonic time counts from the process's start, so that it stays exact as a plain number. Never fails. */
import { uptime } from "node:os";
import type { Clock } from "../../ports/clock.ts";

export function createHostClock(): Clock {
  const startNs = process.hrtime.bigint();
  return {
    // Rounded down to whole microseconds, so that text logs hold arrival times without loss.
    monotonicNs: () => Number((process.hrtime.bigint() - startNs) / 1000n) * 1000,
    utcUs: () => Date.now() * 1000,
    uptimeS: uptime,
  };
}
