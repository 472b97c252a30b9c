/** Figures that are subtracted agree as shown: losses to hundredths of a second make up the gap between the two times beside them. */
import fc from "fast-check";
import { expect, test } from "vitest";
import { addingUp, lostHeadline } from "../../../src/shared/tune/loss-words.ts";

const inCents = (seconds: number) => Math.round(100 * Number(seconds.toFixed(2)));
const sumOf = (losses: readonly { readonly seconds: number }[]) => losses.reduce((sum, { seconds }) => sum + inCents(seconds), 0);

test("4.444 and 4.108 s are shown 0.33 s apart, and so are their parts, which rounded alone make 0.34", () => {
  const losses = [{ seconds: 0.0262 }, { seconds: 0.3054 }, { seconds: 0.0044 }];
  expect(sumOf(losses)).toBe(34);
  expect(addingUp(losses, 4.444, 4.108).map(({ seconds }) => seconds)).toEqual([0.03, 0.3, 0]);
});

test("whatever the parts are, gains among them too, they add up to the gap as shown, none more than a hundredth from itself", () => {
  const part = fc.double({ min: -0.5, max: 2, noNaN: true });
  fc.assert(
    fc.property(fc.double({ min: 1, max: 10, noNaN: true }), fc.array(part, { minLength: 2, maxLength: 4 }), (bestS, parts) => {
      const drivenS = bestS + parts.reduce((sum, seconds) => sum + seconds, 0);
      const told = addingUp(
        parts.map((seconds) => ({ seconds })),
        drivenS,
        bestS,
      );
      expect(sumOf(told)).toBe(inCents(drivenS) - inCents(bestS));
      for (const [i, { seconds }] of told.entries()) expect(Math.abs(seconds - (parts[i] as number))).toBeLessThanOrEqual(0.0101);
    }),
    { numRuns: 2000 },
  );
});

test("parts that do not make up the gap are told as they are", () => {
  expect(addingUp([{ seconds: 0.1 }, { seconds: 0.2 }], 5, 4)).toEqual([{ seconds: 0.1 }, { seconds: 0.2 }]);
});

const told = (spin: number, heldBack: number, rest: number) => ({
  label: "soft",
  seconds: 5 + spin + heldBack + rest,
  quickest: { value: 5, plusMinus95: 0.02 },
  why: null,
  losses: [
    { cause: "spin" as const, seconds: spin, plusMinus95: 0.02 },
    { cause: "heldBack" as const, seconds: heldBack, plusMinus95: 0.02 },
    { cause: "askedLate" as const, seconds: 0, plusMinus95: 0.02 },
    { cause: "rest" as const, seconds: rest, plusMinus95: 0.02 },
  ],
  bands: [],
  mphBands: [],
  atLeast: null,
});

test("the headline names what took most, and never contradicts its figures", () => {
  expect(lostHeadline(told(0.4, 0.1, 0), "0-60 mph")).toBe("Soft loses 0.50\u00a0s, 0-60 mph; most of it spun away.");
  expect(lostHeadline(told(0.2, 0.15, 0.15), "0-60 mph")).toBe("Soft loses 0.50\u00a0s, 0-60 mph; 0.20\u00a0s of it spun away.");
  expect(lostHeadline(told(0.6, 0, -0.3), "0-60 mph")).toBe(
    "Soft loses 0.30\u00a0s, 0-60 mph; 0.60\u00a0s spun away, made up for in part elsewhere.",
  );
  expect(lostHeadline(told(0.1, 0, -0.14), "0-60 mph")).toBe("Soft loses no time that shows, 0-60 mph.");
});
