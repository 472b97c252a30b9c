/** The counter of adapter stamps: period and wrap from an adapter's command sheet (docs/check-values.md, SLCAN). */
import { expect, test } from "vitest";
import { createStampUnwrap, STAMP_PERIOD_MS } from "../../../src/shared/frames/stamp-unwrap.ts";

/** Pairs of stamp and arrival in ms; gives unwrapped ms and segments. */
function unwrap(...pairs: [stampMs: number, arrivalMs: number][]) {
  const clock = createStampUnwrap();
  const ms: number[] = [];
  const segments: number[] = [];
  for (const [stampMs, arrivalMs] of pairs) {
    ms.push(clock.push(stampMs, arrivalMs * 1e6, STAMP_PERIOD_MS));
    segments.push(clock.segment);
  }
  return { ms, segments };
}

test("stampUnwrap() takes EA5F to 0000 as one millisecond, and 59998 to 3 as five", () => {
  expect(unwrap([0xea5f, 100], [0, 101]).ms).toEqual([59_999, 60_000]);
  expect(unwrap([59_998, 100], [3, 105]).ms).toEqual([59_998, 60_003]);
});

test("stampUnwrap() takes a small step back as frames out of order, in one packet or in two", () => {
  expect(unwrap([0, 100], [59_999, 100], [1, 100]).ms).toEqual([0, -1, 1]);
  expect(unwrap([0, 100], [59_999, 101], [2, 102]).ms).toEqual([0, -1, 2]);
});

test("stampUnwrap() resolves a gap over 60 s by host time", () => {
  expect(unwrap([10, 0], [10_010, 130_000], [10_020, 130_010])).toEqual({ ms: [10, 130_010, 130_020], segments: [0, 0, 0] });
});

test("stampUnwrap() goes on through a stalled host and its backlog, over a turn of the counter", () => {
  const { ms, segments } = unwrap([59_000, 1000], [59_010, 41_000], [59_900, 41_000], [30_000, 41_000 + 1], [39_000, 41_010]);
  expect(ms).toEqual([59_000, 59_010, 59_900, 90_000, 99_000]);
  expect(new Set(segments)).toEqual(new Set([0]));
});

test("stampUnwrap() starts a segment for a restarted counter once a second stamp confirms it", () => {
  const { ms, segments } = unwrap([5000, 0], [5010, 10], [20, 3000], [30, 3010], [40, 3020]);
  expect(ms).toEqual([5000, 5010, Number.NaN, 30, 40]);
  expect(segments).toEqual([0, 0, 0, 1, 1]);
});

test("stampUnwrap() gives a lone spoiled stamp up and keeps its clock", () => {
  const { ms, segments } = unwrap([5000, 0], [5010, 10], [37_123, 20], [5030, 30], [5040, 40]);
  expect(ms).toEqual([5000, 5010, Number.NaN, 5030, 5040]);
  expect(new Set(segments)).toEqual(new Set([0]));
});

test("stampUnwrap() starts a segment after breakClock() whatever the stamp says", () => {
  const clock = createStampUnwrap();
  clock.push(100, 0, STAMP_PERIOD_MS);
  clock.breakClock();
  expect([clock.push(110, 10e6, STAMP_PERIOD_MS), clock.segment]).toEqual([110, 1]);
});

test("stampUnwrap() holds an adapter 300 ppm slow and jittered arrivals together over eight hours", () => {
  const clock = createStampUnwrap();
  let worst = 0;
  for (let k = 0; k < 288_000; k++) {
    const trueMs = k * 100;
    const adapterMs = Math.floor(trueMs * (1 - 300e-6));
    const jitterMs = (k * 7919) % 16;
    worst = Math.max(worst, Math.abs(clock.push(adapterMs % 60_000, (trueMs + jitterMs) * 1e6, STAMP_PERIOD_MS) - adapterMs));
  }
  expect([worst, clock.segment, clock.unsure]).toEqual([0, 0, 0]);
});

test("stampUnwrap() starts a segment wherever in its minute a restarted counter comes back after a silence", () => {
  // Every restart value except where the old counter would be by then (3 s later), or just after where it stopped: those cannot be told
  // apart.
  const missed: number[] = [];
  for (let startMs = 0; startMs < STAMP_PERIOD_MS; startMs += 50) {
    const { segments } = unwrap([5000, 0], [5010, 10], [startMs, 3000], [startMs + 10, 3010], [startMs + 20, 3020]);
    if (segments.at(-1) !== 1 && Math.abs(startMs - 8000) > 150 && !(startMs >= 4950 && startMs <= 5300)) missed.push(startMs);
  }
  expect(missed).toEqual([]);
});
