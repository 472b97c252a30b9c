/**
 * Days of driving. Expected dates are those of the places' own legal time by the IANA time zone database (through Intl), which knows nothing of
 * longitudes.
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { drivingDays } from "../../../src/shared/run/driving-days.ts";

const HOUR_MS = 3_600_000;
/** Longitudes of the zones' own towns, degrees east, from the table zone1970.tab of the database. */
const ZONES = [
  ["Australia/Sydney", 151.2],
  ["Pacific/Auckland", 174.8],
  ["Asia/Tokyo", 139.7],
  ["Asia/Kolkata", 88.4],
  ["Europe/Madrid", -3.7],
  ["Europe/London", -0.1],
  ["America/Los_Angeles", -118.2],
  ["America/New_York", -74],
  ["Pacific/Honolulu", -157.9],
] as const;
const dateIn = (timeZone: string, ms: number) => new Intl.DateTimeFormat("en-CA", { timeZone, dateStyle: "short" }).format(ms);
const hourIn = (timeZone: string, ms: number) =>
  Number(new Intl.DateTimeFormat("en-GB", { timeZone, hour: "2-digit", hourCycle: "h23" }).format(ms));

describe("drivingDays()", () => {
  test.each(ZONES)("%s: runs from eight in the morning till nine in the evening are of that place's one date", (timeZone, lonDeg) => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 700 }),
        fc.array(fc.integer({ min: 0, max: 779 }), { minLength: 1, maxLength: 12 }),
        (day, minutes) => {
          let morning = Date.UTC(2031, 0, 1) + day * 24 * HOUR_MS;
          while (hourIn(timeZone, morning) !== 8) morning += HOUR_MS;
          const runs = minutes.map((minute) => ({ startedAtMs: morning + minute * 60_000, lonDeg }));
          expect(drivingDays(runs)).toEqual(minutes.map(() => dateIn(timeZone, morning)));
        },
      ),
    );
  });

  const at = (iso: string | null, lonDeg: number | null = null) => ({ startedAtMs: iso === null ? null : Date.parse(iso), lonDeg });

  test("a test that goes on past midnight is one day, named by its first run; a night's pause begins another", () => {
    const runs = [at("2030-05-04T23:40Z"), at("2030-05-05T00:20Z"), at("2030-05-05T01:05Z"), at("2030-05-05T09:00Z")];
    expect(drivingDays(runs)).toEqual(["2030-05-04", "2030-05-04", "2030-05-04", "2030-05-05"]);
    // By whichever order they stand in the book.
    expect(drivingDays(runs.toReversed())).toEqual(["2030-05-05", "2030-05-04", "2030-05-04", "2030-05-04"]);
  });

  test("a long pause within a date is one day; without a time there is none; a place comes from the day's other runs", () => {
    expect(drivingDays([at("2030-05-04T08:00Z"), at(null), at("2030-05-04T15:00Z")])).toEqual(["2030-05-04", null, "2030-05-04"]);
    expect(drivingDays([at("2030-05-04T23:00Z"), at("2030-05-05T01:00Z", 151.2)])).toEqual(["2030-05-05", "2030-05-05"]);
    expect(drivingDays([])).toEqual([]);
  });
});
