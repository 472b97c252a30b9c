/** The width table for paper, against Chromium's own measure of the face that the screens bring. */
import { describe, expect, test } from "vitest";
import { textWidth } from "../../src/shared/draw/text-width.ts";
import { browserPath } from "./support/browser.ts";
import { useVisit } from "./support/visit.ts";

describe.skipIf(browserPath === null)("text on paper, in Chromium", () => {
  const suite = useVisit("fake");

  test.each(["500 18px", "700 22px"])(
    "textWidth() of %s is Chromium's within 1.5 %% (kerning), for names, numbers and signs",
    async (font) => {
      const words = ["traction control off", "0.65 s", "−1.05 ± 0.012", "12 hidden", "96 %", "MAXIMUM Wheel (15 km/h)", "4 hPa, 11 °C"];
      const face = `${font} "IBM Plex Sans"`;
      const measured = await suite.visit.page.evaluate(
        async ([texts, css]) => {
          await document.fonts.load(css);
          const context = document.createElement("canvas").getContext("2d");
          if (context === null) throw new TypeError("no canvas");
          context.font = css;
          return texts.map((text) => context.measureText(text).width);
        },
        [words, face] as const,
      );
      for (const [i, text] of words.entries()) {
        const width = textWidth(text, face);
        expect(Math.abs(width / measured[i] - 1), `${text}: ${width} for ${measured[i]}`).toBeLessThan(0.015);
      }
    },
  );
});
