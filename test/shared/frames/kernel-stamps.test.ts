/** The kernel's stamps as candump prints them: steady however late lines are read, and a step of the wall clock begins a new segment. */
import { expect, test } from "vitest";
import { createKernelStamps } from "../../../src/shared/frames/kernel-stamps.ts";
import { random } from "../align/gentle-drive.ts";

const WALL_MS = 1_936_509_052_000;

/** Frames each 10 ms; `stepMs` is added to the wall clock from `atMs` on. Returns the stamps and their segments. */
function stamped({ stepMs = 0, atMs = Number.POSITIVE_INFINITY, silentMs = 0, forMs = 8000 }) {
  const { uniform } = random(3);
  const stamps = createKernelStamps();
  const out: { ms: number; segment: number; trueMs: number }[] = [];
  let lateToMs = 0;
  for (let trueMs = 0; trueMs < forMs; trueMs += 10) {
    if (trueMs > atMs && trueMs <= atMs + silentMs) continue;
    // The reader is stalled now and then, and reads the backlog at once.
    if (uniform() < 0.005) lateToMs = trueMs + 400 * uniform();
    const arrivalMs = Math.max(trueMs + 0.2 + uniform(), lateToMs);
    const ms = stamps.push(WALL_MS + trueMs + (trueMs > atMs ? stepMs : 0), arrivalMs * 1e6);
    out.push({ ms, segment: stamps.segment, trueMs });
  }
  return out;
}

test("stamps count from the first, whatever the reader's delays, in one segment", () => {
  const all = stamped({ forMs: 60_000 });
  expect(all.every(({ ms, trueMs }) => Math.abs(ms - trueMs) < 0.001)).toBe(true);
  expect(all.at(-1)?.segment).toBe(0);
});

test.each([-3_600_000, -1000, -40, 40, 900, 3_600_000])("a wall clock stepped by %i ms begins one new segment, at once", (stepMs) => {
  const all = stamped({ stepMs, atMs: 4000 });
  expect(new Set(all.map(({ segment }) => segment))).toEqual(new Set([0, 1]));
  expect(all.find(({ segment }) => segment === 1)?.trueMs).toBeLessThan(4100);
});

test("a step while the bus is silent is noticed by the delay, and a silence alone is none", () => {
  // The last one leaves the stamps going on as if the reader had stood still: only that they stay late shows it.
  for (const stepMs of [-2000, 2000, -2950]) expect(stamped({ stepMs, atMs: 4000, silentMs: 3000, forMs: 12_000 }).at(-1)?.segment).toBe(1);
  expect(stamped({ atMs: 4000, silentMs: 3000 }).at(-1)?.segment).toBe(0);
});
