/** Dates and times without the host's calendar, against the host's own: Date.prototype.toISOString() (ECMA-262, 21.4.4.36). */
import fc from "fast-check";
import { expect, test } from "vitest";
import { DAY_MS, dayNumber, isoUtc } from "../../../src/shared/kernel/civil-date.ts";

test("isoUtc() writes any moment of the years 0 to 9999 as the host does, and dayNumber() finds its day again", () => {
  const moment = fc.integer({ min: Date.UTC(2000, 0) - 2000 * 365.2425 * DAY_MS, max: Date.UTC(9999, 11, 31) });
  fc.assert(
    fc.property(moment, (utcMs) => {
      const date = new Date(utcMs);
      expect(isoUtc(utcMs)).toBe(date.toISOString());
      expect(dayNumber(date.getUTCFullYear(), date.getUTCMonth() + 1, date.getUTCDate())).toBe(Math.floor(utcMs / DAY_MS));
    }),
    { numRuns: 2000 },
  );
});
