/**
 * The claims about tuning with few cases: five random days a class. Limits are what chance allows at so few (three sigma above the promised
 * RMS, by chi-square), so a red test means a broken promise. Coverage needs the hundreds of `npm run claims`; here a figure outside twice
 * its interval is a fault.
 */
import { describe, expect, test } from "vitest";
import { judgeTuneDay, type TuneCase, type TuneFigure } from "../../claims/judge-tune-day.ts";
import { mostRms, summarise } from "../../claims/tally.ts";
import { tuneDay } from "../../claims/tune-day.ts";
import { TUNE_CLASSES } from "../../claims/tune-sweep.ts";

const DAYS = 5;
const FIRST_SEED = 600;

for (const { name, day, judged } of TUNE_CLASSES.slice(0, 4)) {
  describe(name, () => {
    let cases: readonly TuneCase[][] = [];
    test("a best slip is claimed where slip well passed it, and never where it did not", { timeout: 600_000 }, () => {
      const offs = judged.map(({ off }) => off);
      cases = Array.from({ length: DAYS }, (_, i) => judgeTuneDay(tuneDay(FIRST_SEED + i, day), FIRST_SEED + i, offs));
      for (const under of cases) for (const one of under) if (one.passed !== null) expect(one.said, one.why ?? "").toBe(one.passed);
    });

    judged.forEach(({ name: setUp, most }, k) => {
      const outcomes = (figure: TuneFigure) => cases.map((under) => under[k]?.outcomes[figure]).filter((one) => one !== undefined);
      test(`${setUp}: best slip and peak friction within the promised figures`, () => {
        expect(cases).toHaveLength(DAYS);
        for (const figure of ["bestSlip", "peakFriction"] as const) {
          const found = outcomes(figure);
          if (most === null || found.length === 0) continue;
          const s = summarise(found);
          expect(s.rms, `${figure}: RMS ${s.rms.toPrecision(3)} over ${s.n} days`).toBeLessThan(mostRms(most[figure], s.n));
        }
      });

      test(`${setUp}: no figure of car or tyre lies two half widths off`, () => {
        for (const figure of [
          "bestSlip",
          "peakFriction",
          "dragAreaM2",
          "rollingResistance",
          "axleInertiaKgM2",
          "fullTorqueNm",
          "fullPowerW",
        ] as const) {
          for (const { error, plusMinus95 } of outcomes(figure)) expect(Math.abs(error), figure).toBeLessThan(2 * plusMinus95);
        }
      });
    });
  });
}
