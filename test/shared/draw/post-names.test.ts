/** Names beside posts and numbers beside ink, held on random places: none over another, none over a post, none lost where all are wanted. */
import fc from "fast-check";
import { expect, test } from "vitest";
import { numberPlace } from "../../../src/shared/draw/peak-numbers.ts";
import { placeNames } from "../../../src/shared/draw/post-names.ts";

const widthOf = (text: string) => text.length * 10;
const posts = fc
  .uniqueArray(fc.integer({ min: 30, max: 880 }), { minLength: 1, maxLength: 6 })
  .map((xs) => xs.sort((a, b) => a - b).map((x, i) => ({ x, name: "60 mph", ...(i % 2 === 0 ? { time: "4.42" } : {}) })));

test("placeNames() puts no name over another, over a post or beyond the ends, whatever stands where", () => {
  fc.assert(
    fc.property(posts, fc.integer({ min: 1, max: 3 }), (given, lines) => {
      const names = placeNames(given, { from: 20, to: 900, away: 8, lines, all: false }, widthOf);
      const boxes = names.flatMap((name) =>
        name === null
          ? []
          : name.words.map((word, i) => {
              const width = Math.max(...name.words.map(widthOf));
              return { word, line: name.line + i, from: name.left ? name.x - width : name.x, to: name.left ? name.x : name.x + width };
            }),
      );
      for (const [i, a] of boxes.entries()) {
        expect(a.from).toBeGreaterThan(20);
        expect(a.to).toBeLessThanOrEqual(900);
        expect(a.line).toBeLessThan(lines);
        expect(given.filter(({ x }) => x > a.from && x < a.to)).toEqual([]);
        for (const b of boxes.slice(i + 1)) expect(a.line === b.line && a.from < b.to && b.from < a.to).toBe(false);
      }
    }),
  );
});

test("placeNames() loses no gate's time where the axis doubles, as it did: the time goes under its name", () => {
  const passed = [
    { x: 187, name: "30 mph", time: "2.07" },
    { x: 212, name: "60 ft", time: "2.38" },
    { x: 373, name: "60 mph", time: "4.42" },
  ];
  const said = placeNames(passed, { from: 0, to: 976, away: 16, lines: 3, all: true }, (text) => text.length * 21).map((name) =>
    name?.words.join(" "),
  );
  expect(said).toEqual(["30 mph 2.07", "60 ft 2.38", "60 mph 4.42"].map((words) => expect.stringContaining(words)));
});

test("placeNames() puts a name closer beside its post rather than over the next one, as a launch that spun had it", () => {
  const passed = [
    { x: 498, name: "60 ft", time: "3.06" },
    { x: 501, name: "30 mph", time: "3.11" },
    { x: 661, name: "60 mph", time: "5.45" },
  ];
  const [, second] = placeNames(passed, { from: 288, to: 1248, away: 16, lines: 2, all: true }, (text) => text.length * 23);
  expect(second).toMatchObject({ words: ["30 mph", "3.11"], x: 517, left: false });
});

test("numberPlace() keeps a number clear of posts, inside the axis, and over or next to its ink where that is free", () => {
  const span = fc
    .tuple(fc.integer({ min: 0, max: 900 }), fc.integer({ min: 4, max: 40 }))
    .map(([from, wide]) => [from, from + wide] as const);
  fc.assert(
    fc.property(span, fc.integer({ min: 20, max: 200 }), fc.array(span, { maxLength: 5 }), (ink, width, taken) => {
      const x = numberPlace(ink, width, [0, 900], taken);
      if (x === null) return;
      expect(x).toBeGreaterThanOrEqual(0);
      expect(x + width).toBeLessThanOrEqual(900);
      expect(taken.filter(([from, to]) => x < to && x + width > from)).toEqual([]);
    }),
  );
  expect(numberPlace([100, 300], 80, [0, 900], [])).toBe(160);
  expect(numberPlace([100, 120], 80, [0, 900], [])).toBe(126);
  // A post stands right of it, so it goes left; at the axis's start it goes beyond the post.
  expect(numberPlace([100, 120], 80, [0, 900], [[150, 158]])).toBe(14);
  expect(numberPlace([10, 30], 80, [0, 900], [[60, 68]])).toBe(74);
  expect(numberPlace([10, 30], 80, [0, 100], [[60, 68]])).toBeNull();
});
