/**
 * Rules for laying out figures: marks that never touch, words away from upright lines, and a chart's data as text. Checked on random cases.
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import { tableCsv, tableText } from "../../src/renderer/draw/chart-table.ts";
import type { Palette, Pen } from "../../src/shared/draw/pen.ts";
import { clearPlace, widestPlace } from "../../src/shared/draw/clear-places.ts";
import { paintPosts } from "../../src/shared/draw/seam-painter.ts";
import { stackMarks } from "../../src/shared/draw/stack-marks.ts";

const BAND = 25;

test("stackMarks() lets no two marks touch and none leave the band, however dense the values are", () => {
  fc.assert(
    fc.property(
      fc.array(fc.double({ min: 0, max: 600, noNaN: true }), { minLength: 1, maxLength: 60 }),
      fc.double({ min: 0.001, max: 1, noNaN: true }),
      (values, crowd) => {
        const xs = values.map((value) => 300 + (value - 300) * crowd);
        const { radius, away } = stackMarks(xs, 8, BAND);
        const spots = away.flatMap((y, i) => (y === null ? [] : [{ x: xs[i], y }]));
        for (const [i, a] of spots.entries()) {
          expect(Math.abs(a.y) + radius).toBeLessThanOrEqual(BAND + 1e-9);
          for (const b of spots.slice(i + 1)) expect(Math.hypot(a.x - b.x, a.y - b.y)).toBeGreaterThan(2 * radius);
        }
        expect(spots.length).toBeGreaterThan(0);
      },
    ),
    { numRuns: 200 },
  );
});

test("stackMarks() keeps lone marks on the line at full size, takes turns above and below, and leaves out only what has no room", () => {
  expect(stackMarks([10, 100, 200], 8, BAND)).toEqual({ radius: 8, away: [0, 0, 0] });
  const three = stackMarks([100, 101, 102], 8, BAND);
  expect([...three.away].map((y) => Math.sign(y ?? Number.NaN)).sort()).toEqual([-1, 0, 1]);
  const crowd = stackMarks(
    Array.from({ length: 40 }, () => 100),
    8,
    BAND,
  );
  expect(crowd.away.filter((y) => y === null).length).toBeGreaterThan(0);
  expect(crowd.away.filter((y) => y !== null).length).toBeGreaterThanOrEqual(4);
});

test("paintPosts() lets no gate's name reach over the start, where the cursor stands first, nor over another post", () => {
  const widthOf = (text: string) => text.length * 10;
  fc.assert(
    fc.property(
      fc.uniqueArray(fc.integer({ min: 90, max: 800 }), { minLength: 1, maxLength: 7 }),
      fc.integer({ min: 64, max: 200 }),
      (places, startX) => {
        const xs = places.filter((x) => x > startX).sort((a, b) => a - b);
        const names: { left: number; right: number }[] = [];
        const pen = {
          textAlign: "left",
          fillRect: () => undefined,
          strokeText: () => undefined,
          measureText: (text: string) => ({ width: widthOf(text) }),
          fillText(text: string, x: number) {
            const left = this.textAlign === "right" ? x - widthOf(text) : x;
            names.push({ left, right: left + widthOf(text) });
          },
        };
        const posts = xs.map((x) => ({ x, name: "60 mph", passed: true }));
        const palette = { sheet: "", ink: "" } as unknown as Palette;
        paintPosts(
          pen as unknown as Pen,
          posts,
          { top: 0, bottom: 300, from: startX, to: 820, fontPx: 18, lines: 2, drive: false },
          palette,
        );
        for (const { left, right } of names) {
          expect(left).toBeGreaterThan(startX);
          expect(xs.filter((x) => x > left && x < right)).toEqual([]);
        }
      },
    ),
  );
});

test("clearPlace() puts words where no upright crosses them: shorter words further left first, none where nothing fits", () => {
  const words = [
    { text: "Ground speed, km/h", width: 192 },
    { text: "km/h", width: 45 },
  ];
  fc.assert(
    fc.property(fc.array(fc.double({ min: 60, max: 900, noNaN: true }), { maxLength: 12 }), (uprights) => {
      const place = clearPlace(words, uprights, 64, 860);
      if (place === null) return;
      const width = words.find(({ text }) => text === place.text)?.width ?? 0;
      expect(uprights.filter((x) => x > place.x - 5 && x < place.x + width + 5)).toEqual([]);
    }),
  );
  expect(clearPlace(words, [120], 64, 860)).toEqual({ text: "Ground speed, km/h", x: 130 });
  expect(clearPlace(words, [120, 289], 64, 860)?.text).toBe("km/h");
  expect(clearPlace(words, [80, 100, 120, 140], 64, 150)).toBeNull();
  expect(widestPlace([100, 150, 400], 90, 450)).toBe(275);
});

test("tableText() has one row of names with units, empty cells for what is unknown, and no cell that parts another", () => {
  expect(
    tableText({
      columns: [
        { name: "Run", unit: "" },
        { name: "Time", unit: "s" },
      ],
      rows: [
        [1, 4.42],
        ["a\tb\nc", Number.NaN],
        [null, undefined],
      ],
    }),
  ).toBe("Run\tTime (s)\n1\t4.42\na b c\t\n\t");
});

test("clearPlace() goes on to the next place where a line passes through the first, and takes the first where lines pass through all", () => {
  const words = [{ text: "Speed, km/h", width: 120 }];
  expect(clearPlace(words, [300], 64, 860)?.x).toBe(74);
  expect(clearPlace(words, [300], 64, 860, (x) => x > 300)?.x).toBe(310);
  expect(clearPlace(words, [300], 64, 860, () => false)?.x).toBe(74);
  // Another word stands there: better none than two over each other.
  expect(clearPlace(words, [300], 64, 860, (x) => (x < 300 ? null : false))?.x).toBe(310);
  expect(clearPlace(words, [300], 64, 860, () => null)).toBeNull();
});

test("tableCsv() quotes what RFC 4180 asks for, ends every line with CR LF, and leaves the unknown empty", () => {
  const table = {
    columns: [
      { name: "Label", unit: "" },
      { name: "0-60 mph", unit: "s" },
    ],
    rows: [
      ['on, "mild"', 4.42],
      ["off", Number.NaN],
    ],
  };
  expect(tableCsv(table)).toBe('Label,0-60 mph (s)\r\n"on, ""mild""",4.42\r\noff,\r\n');
});
