/** A time that was told to the passenger and then changes is told again, once, in the digits that were told: what nobody heard is corrected for nobody. */
import fc from "fast-check";
import { expect, test } from "vitest";
import { createCorrections } from "../../src/renderer/pages/drive/corrections.ts";
import type { LiveEvent, RunRow } from "../../src/shared/contract/contract.ts";

const live = (state: LiveEvent["state"], gates: Readonly<Record<string, number>>): LiveEvent =>
  ({
    state,
    gates: Object.entries(gates).map(([gate, seconds]) => ({ gate, seconds, plusMinus95: null, settled: false })),
  }) as unknown as LiveEvent;
const run = (id: number, seconds: number | null) => ({ id, seconds }) as unknown as RunRow;

/** What is said, event by event. */
function said(events: readonly LiveEvent[], stored: readonly RunRow[] = []): string[] {
  const corrections = createCorrections();
  const live = events.map((event, i) => corrections.follow(events[i - 1] ?? null, event));
  const after = stored.map((row, i) => corrections.stored(row, i === 0 && events.length > 1));
  return [...live, ...after].filter((one) => one.length > 0).map((one) => one.join("; "));
}

const LAUNCH = [
  live("standing", {}),
  live("launched", {}),
  live("launched", { "0-30 mph": 2.1 }),
  live("launched", { "0-30 mph": 2.1, "0-60 mph": 4.66 }),
];

test("0-60 mph announced as 4.66 and stored as 4.42 is corrected when it is known, and not again", () => {
  const words = said(
    [...LAUNCH, live("armed", { "0-30 mph": 2.1, "0-60 mph": 4.42 }), live("armed", { "0-30 mph": 2.1, "0-60 mph": 4.42 })],
    [run(8, 4.42)],
  );
  expect(words).toEqual(["0\u201360 mph is 4.42 s, not 4.66"]);
  expect(said([...LAUNCH, live("armed", {})], [run(8, 4.42)])).toEqual(["0\u201360 mph is 4.42 s, not 4.66"]);
});

test("while the car is launched nobody is told twice; when the recording closes and a time changes once more it is said", () => {
  expect(said([...LAUNCH, live("launched", { "0-30 mph": 2.3, "0-60 mph": 4.42 })])).toEqual([]);
  expect(said([...LAUNCH, live("armed", {})], [run(8, 4.66), run(8, 4.63)])).toEqual(["0\u201360 mph is 4.63 s, not 4.66"]);
  // Another run, and one that was never announced, are nobody's correction.
  expect(said([...LAUNCH, live("armed", {})], [run(8, 4.66), run(7, 5.1)])).toEqual([]);
  expect(said([live("idle", {})], [run(8, 4.42)])).toEqual([]);
});

test("several are a line each, in the gates' order", () => {
  const corrections = createCorrections();
  for (const [i, event] of LAUNCH.entries()) corrections.follow(LAUNCH[i - 1] ?? null, event);
  expect(corrections.follow(LAUNCH.at(-1) ?? null, live("armed", { "0-30 mph": 2.2, "0-60 mph": 4.42 }))).toEqual([
    "0\u201330 mph is 2.20 s, not 2.10",
    "0\u201360 mph is 4.42 s, not 4.66",
  ]);
});

test("a time that was announced and then is none is said to be none", () => {
  expect(said([...LAUNCH, live("armed", {})], [run(8, null)])).toEqual(["0\u201360 mph was not reached; 4.66 s was wrong"]);
});

test("whatever the times, what was said last is what is stored", () => {
  const time = fc.double({ min: 2, max: 9, noNaN: true });
  fc.assert(
    fc.property(time, time, time, (announced, settled, stored) => {
      const events = [live("launched", {}), live("launched", { "0-60 mph": announced }), live("armed", { "0-60 mph": settled })];
      const words = said(events, [run(3, stored)]);
      const told = words.at(-1)?.match(/mph is ([\d.]+) s/)?.[1] ?? announced.toFixed(2);
      expect(told).toBe(stored.toFixed(2));
    }),
  );
});
