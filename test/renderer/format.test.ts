/** Numbers in words. Minus is U+2212 and a space stands before units and %, after the SI Brochure (9th edition, 5.4.3); compass points are plain geometry. */
import { expect, test } from "vitest";
import {
  columnName,
  gateName,
  heading,
  number,
  plusMinus,
  postName,
  quantity,
  setting,
  shortLabel,
} from "../../src/renderer/screen/format.ts";

test("number() gives the word for what is unknown and a true minus for what is negative", () => {
  expect([number(null), number(undefined), number(Number.NaN), number(Number.POSITIVE_INFINITY)]).toEqual([
    "unknown",
    "unknown",
    "unknown",
    "unknown",
  ]);
  expect([number(-3.26, 1), number(-0.04, 1), number(0), number(4.425, 2)]).toEqual(["\u22123.3", "0.0", "0", "4.42"]);
});

test("quantity() puts a space that does not break before the unit, and no unit behind the word", () => {
  expect([quantity(8, "%"), quantity(null, "km/h")]).toEqual(["8\u00a0%", "unknown"]);
});

test("plusMinus() stays silent when no interval is known", () => {
  expect([plusMinus(0.012), plusMinus(null)]).toEqual(["\u00b1\u00a00.012", ""]);
});

test("gateName() and postName() shorten only what stands between figures", () => {
  expect(["0-60 mph", "60 ft", "50-100 km/h", "1/4 mile"].map(gateName)).toEqual([
    "0\u201360 mph",
    "60 ft",
    "50\u2013100 km/h",
    "1/4 mile",
  ]);
  expect(["0-60 mph", "60 ft", "50-100 km/h"].map(postName)).toEqual(["60 mph", "60 ft", "50-100 km/h"]);
});

test("heading() names the nearest of eight points", () => {
  expect([0, 22.4, 45, 74, 254, 359, null].map(heading)).toEqual(["north", "north", "north-east", "east", "west", "north", ""]);
});

test("setting() takes a label apart into what is set and how", () => {
  expect(setting("traction control off")).toEqual({ what: "Traction control", how: "OFF" });
  expect(setting("On")).toEqual({ what: "Setting", how: "ON" });
  expect(setting("slip target 12 %")).toEqual({ what: "Slip target 12 %", how: null });
  expect(shortLabel("traction control on")).toBe("control on");
  // A label that is short enough stands whole: "map on" is another setting than "soft map on".
  expect(shortLabel("soft map on")).toBe("soft map on");
  expect(shortLabel("slip target 12 percent, wet")).toBe("\u2026 12 percent, wet");
  // A last word of one or two letters would say nothing by itself.
  expect(shortLabel("extra-very-long-label e")).toBe("\u2026ery-long-label e");
  expect(shortLabel("withoutanyspaceatalltoday")).toHaveLength(17);
});

test("columnName() says a column in words and leaves its unit to stand beside it", () => {
  expect(["slipSpeedKmh", "accelerationMps2", "slipRatio", "undrivenWheelSpeeds.0", "batteryVoltage"].map(columnName)).toEqual([
    "Slip speed",
    "Acceleration",
    "Slip ratio",
    "Undriven wheel speeds 1",
    "Battery voltage",
  ]);
});
