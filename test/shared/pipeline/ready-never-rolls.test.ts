/**
 * Nobody gives the all-clear to a car that rolls: "standing" ends within 0.3 s of 0.5 km/h (docs/design.md "Definitions", movement),
 * whatever starts the car and whichever source is late, lost or noisy. The truth is the generators' own; the second one shares no code with
 * src.
 */
import { describe, expect, test } from "vitest";
import { type RollingCase, rollingDrive, type StreamFault, watchReady, withFault } from "../../support/rolling-drives.ts";

const ENDS_WITHIN_S = 0.3;
const FAULTS: readonly StreamFault[] = ["receiver late", "receiver absent", "receiver lost", "bus lost", "both lost"];
const RATES = [1, 5, 10, 25];
const NOISES = [0.02, 0.05, 0.1];

const cases = RATES.flatMap((rateHz, i) =>
  NOISES.map(
    (noiseMps, j): Omit<RollingCase, "car"> => ({
      seed: 700 + 3 * i + j,
      rateHz,
      noiseMps,
      hold: (i + j) % 3 === 0,
      undriven: (i + j) % 2 === 0,
      motorSpeed: true,
    }),
  ),
);
/** Each fault is combined with every rate and noise in turn; the sound receiver with all of them. */
const faultsOf = ({ seed }: { readonly seed: number }): readonly StreamFault[] => ["none", FAULTS[seed % FAULTS.length] ?? "none"];
const said = (one: Omit<RollingCase, "car">) =>
  `${one.rateHz} Hz, ${one.noiseMps} m/s${one.hold ? ", held at rest" : ""}${one.undriven ? "" : ", no undriven wheels"}`;

describe.each(["first", "second"] as const)("%s car", (car) => {
  test.each(cases.map((one) => [said(one), one] as const))("%s: never ready for over 0.3 s while it rolls", (_, one) => {
    const drive = rollingDrive({ ...one, car });
    // Five ways to leave, three gentle starts, a launch; the spin on the spot does not roll.
    expect(drive.rolledS.length).toBeGreaterThanOrEqual(6);
    for (const fault of faultsOf(one)) {
      const { times, longestRollingS } = watchReady(drive, withFault(drive, fault));
      expect(longestRollingS, fault).toBeLessThanOrEqual(ENDS_WITHIN_S);
      // "Standing" must appear at all. But a receiver of 1 Hz shows no second of standing, and without one nothing can be timed.
      if (fault === "receiver absent") expect(times, fault).toBe(0);
      else if (one.rateHz >= 5) expect(times, fault).toBeGreaterThanOrEqual(4);
    }
  });
});

test("without the motor's speed nothing sees the first turn of a wheel in time: it is never said", () => {
  const drive = rollingDrive({ car: "second", seed: 790, rateHz: 10, noiseMps: 0.03, hold: false, undriven: true, motorSpeed: false });
  expect(watchReady(drive, drive.packets)).toEqual({ times: 0, longestRollingS: 0 });
});

// 0.05 m/s2 is hidden in the receiver's noise for a while: the promise of 0.3 s needs a wheel or a motor that turns.
test("in neutral the motor stands while the car rolls: the receiver, late by up to 0.2 s and an epoch, ends it within a second", () => {
  for (const seed of [791, 792, 793]) {
    const one = { car: "second", seed, rateHz: 10, noiseMps: 0.02, hold: false, undriven: false, motorSpeed: true } as const;
    const drive = rollingDrive(one);
    const { times, longestRollingS } = watchReady(drive, withFault(drive, "motor in neutral"));
    expect(times).toBeGreaterThanOrEqual(4);
    expect(longestRollingS).toBeLessThanOrEqual(1);
  }
});
