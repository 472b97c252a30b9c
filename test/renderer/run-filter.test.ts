/** Runs are found by every word that a person remembers of them, and no run without all of the words is. */
import fc from "fast-check";
import { expect, test } from "vitest";
import { foundRuns } from "../../src/renderer/pages/runs/run-filter.ts";
import type { RunRow } from "../../src/shared/contract/contract.ts";

const run = (id: number, more: Partial<RunRow> = {}) =>
  ({
    id,
    label: "traction control off",
    note: "",
    use: true,
    final: true,
    courseDeg: 74,
    seconds: 5.02,
    flags: [],
    ...more,
  }) as unknown as RunRow;
const RUNS = [
  run(1),
  run(2, { label: "slip target 8 %", note: "wet patch" }),
  run(3, { use: false, note: "gust" }),
  run(4, { flags: [{ flag: "wheelspin", why: "Slip stood above 10 % for 1.2 s." }] }),
];
const ids = (words: string) => foundRuns(RUNS, words).map(({ id }) => id);

test("label, note, flag and state are found, whatever their case; several words narrow, none shows all", () => {
  expect(ids("")).toEqual([1, 2, 3, 4]);
  expect(ids("WET")).toEqual([2]);
  expect(ids("target 8")).toEqual([2]);
  expect(ids("set aside")).toEqual([3]);
  expect(ids("flagged wheelspin")).toEqual([4]);
  expect(ids("control gust")).toEqual([3]);
  expect(ids("gust wheelspin")).toEqual([]);
});

test("more words never find more runs, in the order of the book", () => {
  const word = fc.constantFrom("traction", "8", "slip", "off", "5.02", "gust", "east", "x");
  fc.assert(
    fc.property(fc.array(word, { maxLength: 4 }), word, (words, one) => {
      const [some, fewer] = [ids(words.join(" ")), ids([...words, one].join(" "))];
      expect(some).toEqual(some.toSorted((a, b) => a - b));
      for (const id of fewer) expect(some).toContain(id);
    }),
  );
});
