// ISO metric marking: section width mm / aspect percent, rim inch of 25.4 mm exactly. The rolling factor is from memory.
import { describe, expect, test } from "vitest";
import { nominalRollingRadiusM, parseTyreSize, unloadedRadiusM } from "../../../src/shared/setup/tyre-size.ts";

describe("parseTyreSize()", () => {
  test.each([
    ["265/35R19", 265, 35, 19],
    ["265/35 ZR19 98Y", 265, 35, 19],
    ["P225/45R17", 225, 45, 17],
    ["205/55 R 16 91V", 205, 55, 16],
    ["195/65-15", 195, 65, 15],
  ])("reads %s", (marking, widthMm, aspectPercent, rimInch) => {
    expect(parseTyreSize(marking)).toEqual({ widthMm, aspectPercent, rimInch });
  });

  test.each(["", "265", "265/35", "26/35R19", "265/99R19", "265/35R99"])("refuses %j", (marking) => {
    expect(() => parseTyreSize(marking)).toThrow(RangeError);
  });
});

describe("nominalRollingRadiusM()", () => {
  test("is a few per cent under the unloaded radius of the closed form", () => {
    const size = parseTyreSize("265/35R19");
    // 19 x 25.4 / 2 + 265 x 0.35 mm.
    expect(unloadedRadiusM(size)).toBeCloseTo(0.2413 + 0.09275, 12);
    expect(nominalRollingRadiusM(size) / unloadedRadiusM(size)).toBeGreaterThan(0.95);
    expect(nominalRollingRadiusM(size) / unloadedRadiusM(size)).toBeLessThan(0.98);
  });
});
