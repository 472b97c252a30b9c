/** The report in mph and ft: values converted here again by NIST SP 811, appendix B.8 (mile 1,609.344 m, foot 0.3048 m, both exact). */
import { describe, expect, test } from "vitest";
import { KMH_AND_M, MPH_AND_FT } from "../../../src/shared/kernel/shown-units.ts";
import { reportHtml } from "../../../src/shared/report/report-html.ts";
import { reportDay } from "./report-day.fixture.ts";

/** What a reader sees; gates are called what they are called. */
const seen = (page: string) =>
  page
    .replace(/<style.*?<\/style>/gs, " ")
    .replace(/<[^>]*>/g, " ")
    .replaceAll("0-200 km/h", "");

const day = reportDay();
const [first, ...others] = day.runs;
const flagged = {
  ...day,
  runs: [
    // 21.65 km/h is 13.4527 mph; from the 21.7 that the sentence says it would be 13.48.
    {
      ...first!,
      slip: { peakSlipSpeedKmh: 21.65, peakSlipRatio: 0.61, secondsAbove10Percent: 1.9 },
      flags: [
        {
          flag: "wheelspin" as const,
          why: `Slip stood above 10 % for 1.9 s, with the wheels up to ${(21.65).toFixed(1)} km/h ahead of the road.`,
        },
        { flag: "slope" as const, why: "The road rose by about 1.8 % (3.2 m by the receiver over 180 m)." },
      ],
    },
    ...others,
  ],
};

describe("reportHtml() in mph and ft", () => {
  const page = seen(reportHtml(flagged, MPH_AND_FT));

  test("every speed and length is in them, converted once from the stored figure", () => {
    for (const part of [
      // 63.1 and 20.2 km/h; 900 and 203 m.
      `at ${((63.1 * 1000) / 1609.344).toFixed(1)} mph`,
      "peak slip, mph",
      ((20.2 * 1000) / 1609.344).toFixed(1),
      // As on Plan: where the length is enough, both are rounded up, so that no unit contradicts the answer.
      `${Math.ceil(203 / 0.3048)} ft needed, ${Math.ceil(900 / 0.3048)} ft given: 1.5 × (${(62 / 0.3048).toFixed(0)} ft to 0-60 mph`,
      "with the wheels up to 13.5 mph ahead",
      `(${(3.2 / 0.3048).toFixed(1)} ft by the receiver over ${(180 / 0.3048).toFixed(0)} ft)`,
    ])
      expect(page).toContain(part);
  });

  test("nothing is left in km/h or m but a radius, and what a person wrote", () => {
    expect(page).not.toMatch(/km\/h|\u202f/);
    // The fixture's person wrote "grass, 200 m".
    expect(page.replaceAll("rolling radius, m", "").replaceAll("grass, 200 m", "")).not.toMatch(/\d\s?m\b(?![/\u00b2])|, m\b/);
  });

  test("in km/h and m it is the page as before", () => {
    expect(reportHtml(flagged, KMH_AND_M)).toBe(reportHtml(flagged));
    expect(seen(reportHtml(flagged))).toContain("with the wheels up to 21.6 km/h ahead");
  });
});
