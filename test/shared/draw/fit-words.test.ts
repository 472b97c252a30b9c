/** Words that are cut to a width keep both ends, and fit. Held on random words. */
import fc from "fast-check";
import { expect, test } from "vitest";
import { fitWords } from "../../../src/shared/draw/fit-words.ts";

const widthOf = (text: string) => [...text].length * 10;

test("fitWords() leaves what fits, cuts the middle of what does not, and never exceeds the room", () => {
  expect(fitWords("traction control off", 200, widthOf)).toBe("traction control off");
  expect(fitWords("traction control off", 120, widthOf)).toBe("tracti\u2026l off");
  expect(fitWords("traction control off", 0, widthOf)).toBe("t\u2026f");
  fc.assert(
    fc.property(fc.string({ minLength: 3, maxLength: 200, unit: "grapheme" }), fc.integer({ min: 30, max: 2500 }), (text, room) => {
      const fitted = fitWords(text, room, widthOf);
      if (widthOf(text) <= room) expect(fitted).toBe(text);
      else expect(widthOf(fitted)).toBeLessThanOrEqual(room);
    }),
  );
});
