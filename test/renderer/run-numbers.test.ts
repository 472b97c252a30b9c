/** Numbers of runs in words, read back: every run and no other. The words are our own. */
import fc from "fast-check";
import { expect, test } from "vitest";
import { runNumbers } from "../../src/renderer/pages/runs/run-numbers.ts";

test("neighbours of three and more are a span", () => {
  expect(runNumbers([])).toBe("");
  expect(runNumbers([4])).toBe("4");
  expect(runNumbers([3, 4])).toBe("3 and 4");
  expect(runNumbers([3, 4, 7, 8, 9])).toBe("3, 4 and 7 to 9");
  expect(runNumbers([1, 2, 3])).toBe("1 to 3");
});

test("read back they are the same runs", () => {
  const read = (words: string) =>
    words.split(/, | and /).flatMap((part) => {
      const [from = 0, to = from] = part.split(" to ").map(Number);
      return Array.from({ length: to - from + 1 }, (_, i) => from + i);
    });
  fc.assert(
    fc.property(fc.uniqueArray(fc.integer({ min: 1, max: 60 }), { minLength: 1 }), (ids) => {
      const sorted = ids.toSorted((a, b) => a - b);
      expect(read(runNumbers(sorted))).toEqual(sorted);
    }),
  );
});
