/**
 * What must not be in a log or in a file that is given to others. Sentences are NMEA 0183's; degrees to five decimals are about a metre
 * (one degree of latitude is 111 km, ISO 6709 writes them so).
 */
import { randomBytes } from "node:crypto";
import fc from "fast-check";
import { expect, test } from "vitest";
import { withoutPositions, withoutSecrets } from "../../../src/shared/kernel/hand-over.ts";

test("withoutSecrets() leaves no key, whatever it is called, and no home folder", () => {
  fc.assert(
    fc.property(fc.integer({ min: 24, max: 48 }), fc.constantFrom("hex", "base64url"), (length, spelling) => {
      const key = randomBytes(length).toString(spelling as "hex");
      for (const line of [
        `Open this address in a browser on this machine: http://127.0.0.1:61733/#key=${key}`,
        `cookie: gripbook-61733=${key}; token=${key}`,
        `"key": "${key}"`,
        `started with ${key} as its key`,
      ])
        expect(withoutSecrets(line, "/home/p")).not.toContain(key.slice(0, 12));
    }),
  );
  expect(withoutSecrets("Book /home/p/days/day.gripbook: not found", "/home/p")).toBe("Book ~/days/day.gripbook: not found");
  expect(withoutSecrets("nothing", "")).toBe("nothing");
});

test("withoutPositions() leaves no degree that tells a place, and leaves figures that tell none", () => {
  fc.assert(
    fc.property(fc.integer({ min: -8_900_000, max: 8_900_000 }), fc.integer({ min: -17_900_000, max: 17_900_000 }), (south, west) => {
      // None of them a whole number of tenths.
      const [lat, lon] = [south / 1e5 + 3.17e-6, west / 1e5 + 3.17e-6];
      const [a, b] = [lat.toFixed(6), lon.toFixed(6)];
      const minutes = `${String(Math.floor(Math.abs(lat))).padStart(2, "0")}30.${a.slice(-5)}`;
      for (const line of [
        `Positions: from ${a}, ${b} to ${a}, ${b}`,
        `${a} ${b}`,
        `lat ${a} lon ${b}`,
        `no sentence: $GPGGA,092725.00,${minutes},S,02033.91590,W,1,08,1.01,499.6,M,48.0,M,,*5B`,
        `${lat.toFixed(3)}\u00b0 S, ${lon.toFixed(3)}\u00b0 W`,
      ]) {
        const left = withoutPositions(line);
        expect(left).toContain("[position left out]");
        for (const told of [a.slice(0, -1), b.slice(0, -1), minutes]) expect(left).not.toContain(told);
      }
    }),
  );
  const plain = "radius 0.3240 m, 1,234.5 s, 0-60 mph 4.352 s +/- 0.012, hole 12.3 to 14.5 s";
  expect(withoutPositions(plain)).toBe(plain);
});
