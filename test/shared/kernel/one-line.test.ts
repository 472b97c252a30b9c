/** One line against Unicode's own classes (General_Category Cc, Zl, Zp; Bidi_Control), drawn by fast-check; JSON's places against a file cut by hand. */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { oneLine, plainLines } from "../../../src/shared/kernel/one-line.ts";
import { saidLength, saidSpeed } from "../../../src/shared/kernel/shown-units.ts";
import { parseJson } from "../../../src/shared/kernel/parse-json.ts";

const UNSEEN = /[\p{Cc}\p{Cs}\p{Zl}\p{Zp}\p{Bidi_Control}]/u;
const nasty = fc.oneof(
  fc.string({ unit: "binary" }),
  fc.string({ unit: fc.constantFrom(..."a \t\n\r\u001b\u0007\u009b\u2028\u202e\u2066\ud800\u0000") }),
);

describe("oneLine()", () => {
  test("a sentence of the core that nobody put into units is in km/h and m", () => {
    expect(oneLine(`moved at ${saidSpeed(24)}, ${saidLength(12.3)} on`)).toBe("moved at 86 km/h, 12 m on");
  });

  test("holds no control, no line end and no turn of the reading order, and is the same said twice", () => {
    fc.assert(
      fc.property(nasty, (text) => {
        const line = oneLine(text);
        expect(line).not.toMatch(UNSEEN);
        expect(oneLine(line)).toBe(line);
      }),
    );
  });
  test("leaves words of any script as they are, and keeps the end of what is too long: there stands the remedy", () => {
    for (const words of ["Größe: 3 µm, 車", "می‌خواهم", "a  b", "👩‍🔧"]) expect(oneLine(words)).toBe(words);
    const line = oneLine(`Book ${"x".repeat(7_000_000)}: not found; check the path`);
    expect(line.length).toBeLessThan(2_100);
    expect(line).toMatch(/^Book x+ \[\d+ characters left out\] x+: not found; check the path$/);
    expect(oneLine("one\n  two\r\n\r\nthree")).toBe("one two three");
  });
  test("plainLines() keeps line ends alone", () => {
    fc.assert(
      fc.property(nasty, (text) => {
        expect(plainLines(text).replaceAll("\n", "")).not.toMatch(UNSEEN);
      }),
    );
    expect(plainLines("  one\n\ntwo\u001b[2J\n")).toBe("  one\n\ntwo\ufffd[2J\n");
  });
});

describe("parseJson()", () => {
  test("reads what JSON.parse reads", () => {
    fc.assert(
      fc.property(fc.json(), (text) => {
        expect(parseJson(text)).toEqual(JSON.parse(text));
      }),
    );
    expect(parseJson('\ufeff{"a": 1}')).toEqual({ a: 1 });
  });
  test.each([
    ['{\n  "a": 1,\n  "b": secret\n}', "line 3, column 8"],
    ['{\n  "a": 1,\n}', "line 3, column 1"],
    ["secret", "line 1, column 1"],
    ['{"car": ', "line 1, column 9"],
    ["", "line 1, column 1"],
    ['{"a": "x\ny"}', "line 1, column 9"],
    ["[1, 2 3]", "line 1, column 7"],
  ])("names the place of the mistake in %j and nothing of it", (text, place) => {
    expect(() => parseJson(text)).toThrow(new SyntaxError(place));
  });
  test("says nothing of what it could not read, whatever it is", () => {
    fc.assert(
      fc.property(fc.string({ unit: "binary", maxLength: 40 }), (text) => {
        try {
          parseJson(text);
        } catch (error) {
          expect((error as Error).message).toMatch(/^line \d+, column \d+$/);
          expect((error as Error).cause).toBeUndefined();
        }
      }),
    );
  });
});
