/**
 * Six drives that are not launches (false start, creep, push, reverse, spin on the spot, driving away slowly) around one that is, on both
 * generators. By docs/design.md "Definitions" only the launch is timed, whatever the receiver's rate, noise and behaviour at rest. Hundreds
 * of cases: npm run claims.
 */
import { describe, expect, test } from "vitest";
import { type DecoyCase, type DecoyDrive, decoyDrive, launchesFound, watchLive } from "../../support/decoy-drives.ts";

const NOISES = [0.02, 0.05, 0.1];
const RATES = [5, 10, 20];
const cases = NOISES.flatMap((noiseMps, i) =>
  RATES.map(
    (rateHz, j): Omit<DecoyCase, "car"> => ({
      seed: 300 + 10 * i + j,
      noiseMps,
      rateHz,
      correlated: (i + j) % 2 === 1,
      hold: (i + j) % 2 === 0,
      dry: true,
      gentleS: 0,
    }),
  ),
);
const driven = new Map<string, DecoyDrive>();
function driveOf(one: DecoyCase): DecoyDrive {
  const key = `${one.car} ${one.seed}`;
  const drive = driven.get(key) ?? decoyDrive(one);
  driven.set(key, drive);
  return drive;
}
const said = (one: Omit<DecoyCase, "car">) =>
  `${one.noiseMps} m/s${one.correlated ? ", correlated" : ""}${one.hold ? ", held at rest" : ""}, ${one.rateHz} Hz`;

describe.each(["first", "second"] as const)("%s car", (car) => {
  test.each(cases.map((one) => [said(one), one] as const))(
    "%s: the launch and nothing else is found, with every source and with the receiver alone",
    (_, one) => {
      const drive = driveOf({ ...one, car });
      for (const bare of [false, true]) {
        const found = launchesFound(drive, bare);
        expect(found, bare ? "receiver alone" : "every source").toHaveLength(1);
        expect(Math.abs((found[0] ?? Number.NaN) - drive.movementS)).toBeLessThan(1);
      }
    },
  );

  test.each(cases.filter((_, i) => [0, 5, 7].includes(i)).map((one) => [said(one), one] as const))(
    "%s: live, one run is stored, its gates settled within a second; no spin or push begins one",
    (_, one) => {
      const drive = driveOf({ ...one, car });
      const live = watchLive(drive);
      const began = live.states.filter(({ state }) => state === "launched").map(({ tS }) => tS);
      expect(live.runs).toBe(1);
      expect(began.some((tS) => tS > drive.movementS - 0.1 && tS < drive.movementS + 1)).toBe(true);
      // A false start at full pedal looks like a start until the car stops: it may begin, and is then dropped without a run.
      for (const tS of began)
        expect(["launch", "falseStart", undefined]).toContain(drive.spans.find(({ fromS, toS }) => tS >= fromS && tS < toS)?.what);
      expect(live.unsettled).toBe(0);
      expect(live.slowestSettleS).toBeLessThanOrEqual(1);
    },
  );
});
