/**
 * Units that people see, against NIST SP 811 (2008), appendix B.8: mile 1,609.344 m and foot 0.3048 m, both exact. The values are converted
 * here again, from those two numbers alone.
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { lengthWords } from "../../../src/shared/judge/usable-length.ts";
import {
  ALL_UNITS,
  KMH_AND_M,
  kmhIn,
  lengthIn,
  MPH_AND_FT,
  marked,
  saidIn,
  saidLength,
  saidSpeed,
  shownColumn,
  speedIn,
  toTypeIn,
  typedM,
  unitsNamed,
} from "../../../src/shared/kernel/shown-units.ts";

const [MILE_M, FOOT_M] = [1609.344, 0.3048];

describe("figures", () => {
  test("60 mph is 26.8224 m/s and 96.56064 km/h, a mile is 5,280 ft", () => {
    expect(speedIn(MPH_AND_FT, 26.8224)).toBeCloseTo(60, 12);
    expect(kmhIn(MPH_AND_FT, 96.56064)).toBeCloseTo(60, 12);
    expect(lengthIn(MPH_AND_FT, MILE_M)).toBeCloseTo(5280, 9);
  });

  test("every speed and length agrees with the exact definition; in km/h and m nothing changes", () => {
    fc.assert(
      fc.property(fc.double({ min: -100, max: 400, noNaN: true }), (value) => {
        expect(speedIn(MPH_AND_FT, value)).toBeCloseTo((value * 3600) / MILE_M, 9);
        expect(kmhIn(MPH_AND_FT, value)).toBeCloseTo((value * 1000) / MILE_M, 9);
        expect(lengthIn(MPH_AND_FT, value)).toBeCloseTo(value / FOOT_M, 9);
        expect(kmhIn(KMH_AND_M, value)).toBe(value);
        expect(lengthIn(KMH_AND_M, value)).toBe(value);
      }),
    );
  });

  test("unknown stays unknown", () => {
    for (const units of ALL_UNITS) for (const into of [speedIn, kmhIn, lengthIn]) expect(into(units, null)).toBeNull();
    expect(speedIn(MPH_AND_FT, Number.NaN)).toBeNaN();
  });

  test("a length that was written into a field and is read again is the same, to the millimetre", () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 20_000 }), (m) => {
        for (const units of ALL_UNITS) expect(typedM(units, toTypeIn(units, m))).toBe(m);
      }),
    );
    expect(typedM(MPH_AND_FT, 1000)).toBe(304.8);
  });

  test("a column changes its name with its unit; what is neither speed nor length stays", () => {
    expect(shownColumn(MPH_AND_FT, "groundSpeedKmh", "km/h")).toMatchObject({ name: "groundSpeedMph", unit: "mph" });
    expect(shownColumn(MPH_AND_FT, "distanceM", "m")).toMatchObject({ name: "distanceFt", unit: "ft" });
    expect(shownColumn(MPH_AND_FT, "undrivenWheelSpeeds.0", "m/s").factor).toBeCloseTo(3600 / MILE_M, 12);
    for (const unit of ["Nm", "m/s2", "%", "rad/s"]) expect(shownColumn(MPH_AND_FT, "x", unit)).toEqual({ name: "x", unit, factor: 1 });
    for (const unit of ["km/h", "m", "m/s"]) expect(shownColumn(KMH_AND_M, "xKmh", unit)).toEqual({ name: "xKmh", unit, factor: 1 });
  });

  test("a choice is known by its name, and nothing else is one", () => {
    expect(unitsNamed("mph")).toBe(MPH_AND_FT);
    expect(unitsNamed("km/h")).toBe(KMH_AND_M);
    for (const wrong of ["MPH", "", null, 1]) expect(unitsNamed(wrong)).toBeUndefined();
  });
});

describe("sentences", () => {
  const sentence = `Needed ${saidLength(142)} from 20 to ${saidSpeed(40 / 3.6)}, over the gate 100 m and 50-100 km/h.`;

  test("figures of the program follow the units, gates and people's words stay", () => {
    expect(saidIn(KMH_AND_M, sentence)).toBe("Needed 142 m from 20 to 40 km/h, over the gate 100 m and 50-100 km/h.");
    // 142 / 0.3048 = 465.88; 20 and 40 / 1.609344 = 12.43 and 24.85.
    expect(saidIn(MPH_AND_FT, sentence)).toBe("Needed 466 ft from 12 to 25 mph, over the gate 100 m and 50-100 km/h.");
  });

  test("each is converted from its exact value, and said with as many digits as before", () => {
    // 21.65 km/h is said as 21.6 or 21.7, and is 13.45 mph: from the rounded figure it would be 13.4 or 13.5 by chance.
    fc.assert(
      fc.property(fc.double({ min: -30, max: 90, noNaN: true }), fc.integer({ min: 0, max: 3 }), (mps, digits) => {
        const exact = Math.abs((mps * 3600) / MILE_M).toFixed(digits);
        expect(saidIn(MPH_AND_FT, saidSpeed(mps, digits)).replace("-", "")).toBe(`${exact} mph`);
        expect(saidIn(KMH_AND_M, saidSpeed(mps, digits))).toBe(`${(mps * 3.6).toFixed(digits)} km/h`);
      }),
    );
  });

  test("a length that is needed is rounded up, one that is too short down: the figures never contradict the answer", () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 5000 }), fc.double({ min: 0.5, max: 5000, noNaN: true }), (neededM, givenM) => {
        // Nobody measures a course to the hundredth of a millimetre, nor does a sentence tell it.
        fc.pre(givenM === neededM || Math.abs(givenM - neededM) > 1e-5);
        const words = lengthWords({ neededM, givenM, wayM: 1, stopM: 1, gate: "100 m", assumed: false });
        for (const units of ALL_UNITS) {
          const said = saidIn(units, words);
          const [needed, given] = said.match(/\d+(?= (?:m|ft) (?:needed|given))/g) ?? [];
          expect(said).toContain("to 100 m +");
          expect(Number(given) >= Number(needed)).toBe(givenM >= neededM);
        }
      }),
    );
  });

  test("a stored sentence gets the sign; a car's measure and an acceleration do not", () => {
    const told = (text: string) => saidIn(MPH_AND_FT, marked(text));
    expect(told("Not reached: top speed 95.3 km/h before the run ended (lifted)")).toContain("top speed 59.2 mph before");
    expect(told("(3.2 m by the receiver over 180 m).")).toBe("(10.5 ft by the receiver over 591 ft).");
    expect(told("Speeds from 12 to 30 km/h only: two speeds at least 40 km/h apart")).toBe(
      "Speeds from 7 to 19 mph only: two speeds at least 25 mph apart",
    );
    expect(told("gathered 0.12 m/s² less; radius 0.3342 m")).toBe("gathered 0.12 m/s² less; radius 0.3342 m");
  });
});
