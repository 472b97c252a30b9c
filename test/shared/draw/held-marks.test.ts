/** Marks under a launch read back from the drawing: each stands where it was driven, hollow before the answer and solid after it, and no number touches another. */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import {
  HELD_BACK,
  HELD_LANE,
  HELD_WAIT,
  heldMarks,
  heldMarkWords,
  paintHeldKey,
  paintHeldMarks,
} from "../../../src/shared/draw/held-marks.ts";
import { svgFile } from "../../../src/shared/draw/svg-pen.ts";
import { textWidth } from "../../../src/shared/draw/text-width.ts";

const PALETTE = { sheet: "#fff", panel: "#fff", ink: "#000", ink2: "#333", rule: "#666", slip: "#a30", held: "#05a", sun: false };
const [WIDTH, PX] = [800, 20];

const drawn = (marks: ReturnType<typeof heldMarks>, width = WIDTH, px = PX) =>
  svgFile({ width, height: 60, title: "", textWidth }, PALETTE.sheet, ({ pen }) =>
    paintHeldMarks(pen, marks, { x: 0, y: 0, width, from: 0, to: 8, px }, PALETTE),
  );
/** Rectangles by their ink: x, width and height. */
const boxes = (svg: string, ink: "fill" | "stroke") =>
  [...svg.matchAll(/<rect x="([\d.-]+)" y="([\d.-]+)" width="([\d.]+)" height="([\d.]+)" ([^/]*)\/>/g)]
    .filter(([, , , , , rest]) => new RegExp(`${ink}="#000"`).test(rest as string))
    .map(([, x, , width, height]) => ({ x: Number(x), width: Number(width), height: Number(height) }));
const numbers = (svg: string) =>
  [...svg.matchAll(/<text x="([\d.-]+)"[^>]*>(\d+)</g)].map(([, x, text]) => ({ x: Number(x), text: text as string }));

describe("marks of torque held back", () => {
  const marks = heldMarks([{ passedS: 101, fromS: 101.2, toS: 103 }], 100);

  test("hollow from slip passing what is allowed to the answer, solid from there until it is let go: 100 px a second", () => {
    const svg = drawn(marks);
    const [wait] = boxes(svg, "stroke");
    const [bar] = boxes(svg, "fill").sort((a, b) => b.width - a.width);
    expect(wait?.x).toBeCloseTo(101, 6);
    expect((wait?.x ?? 0) + (wait?.width ?? 0)).toBeCloseTo(120, 6);
    expect(bar).toMatchObject({ x: 120, width: 180 });
    expect(numbers(svg).map(({ text }) => text)).toEqual(["1"]);
  });

  test("without a time of passing there is no hollow part; what lies outside of the axis is cut off", () => {
    expect(boxes(drawn(heldMarks([{ passedS: null, fromS: 101.2, toS: 103 }], 100)), "stroke")).toEqual([]);
    const [bar] = boxes(drawn(heldMarks([{ passedS: 99, fromS: 99.5, toS: 130 }], 100)), "fill").sort((a, b) => b.width - a.width);
    expect(bar).toMatchObject({ x: 0, width: WIDTH });
    expect(drawn(heldMarks([{ passedS: null, fromS: 110, toS: 111 }], 100))).not.toContain("<text");
  });

  test("numbers never touch, and marks stay in their lane, however often torque was held back", { timeout: 60_000 }, () => {
    const spans = fc.array(fc.tuple(fc.double({ min: 0, max: 7, noNaN: true }), fc.double({ min: 0.02, max: 1, noNaN: true })), {
      minLength: 1,
      maxLength: 30,
    });
    fc.assert(
      fc.property(spans, (list) => {
        let at = 100;
        const held = list.map(([gap, long]) => {
          const fromS = at + gap / 5;
          at = fromS + long;
          return { passedS: fromS - 0.05, fromS, toS: at };
        });
        const svg = drawn(heldMarks(held, 100), 300, 11);
        const said = numbers(svg);
        for (const [i, { x }] of said.entries()) {
          const before = said[i - 1];
          if (before !== undefined) expect(x).toBeGreaterThanOrEqual(before.x + textWidth(before.text, '700 11px "IBM Plex Sans"') * 0.9);
        }
        for (const { height } of [...boxes(svg, "fill"), ...boxes(svg, "stroke")]) expect(height).toBeLessThanOrEqual(11 * HELD_LANE);
      }),
      { numRuns: 25 },
    );
  });

  test("the key says what both parts stand for, within its width; readers who cannot see them hear when", () => {
    const svg = svgFile({ width: 480, height: 30, title: "", textWidth }, PALETTE.sheet, ({ pen }) =>
      paintHeldKey(pen, { x: 0, y: 0, width: 480, px: 16 }, PALETTE),
    );
    for (const words of [HELD_WAIT, HELD_BACK]) expect(svg).toContain(words);
    for (const [, x, long] of svg.matchAll(/<text x="([\d.]+)"[^>]*textLength="([\d.]+)"/g))
      expect(Number(x) + Number(long)).toBeLessThanOrEqual(480);
    expect(heldMarkWords(marks)).toBe("Torque held back once: 1.20 to 3.00");
    expect(heldMarkWords([])).toBe("");
  });

  test("a narrow lane's key says it in fewer words, and cuts none", () => {
    const key = svgFile({ width: 300, height: 60, title: "", textWidth }, PALETTE.sheet, ({ pen }) =>
      paintHeldKey(pen, { x: 0, y: 0, width: 300, px: 16 }, PALETTE),
    );
    expect([...key.matchAll(/<text[^>]*>([^<]*)</g)].map(([, text]) => text)).toEqual(["too much slip, no answer", "held back"]);
  });
});
