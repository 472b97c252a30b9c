// The live filter against closed forms (steady-state variance of a Kalman filter, dead reckoning), locked wheels, lost receivers.
import { describe, expect, test } from "vitest";
import type { Calibration } from "../../../src/shared/align/calibration.ts";
import { createGroundSpeedFilter } from "../../../src/shared/align/ground-speed.ts";
import { nominalCalibration } from "../../../src/shared/align/nominal-calibration.ts";
import { slipAt } from "../../../src/shared/align/slip.ts";
import { random, SET_UP } from "./gentle-drive.ts";

const calibration = (change: Partial<Calibration> = {}): Calibration => ({
  ...nominalCalibration(SET_UP),
  gnssDelayS: { value: 0.1, plusMinus95: 0.004, from: "calibrated" },
  undrivenScales: [0, 1].map((j) => ({ name: `Wheels.${j}`, value: 1, plusMinus95: 0.002, from: "calibrated" as const })),
  receiverNoise: { whiteMps: 0.03, correlatedMps: 0, correlationS: 0 },
  ...change,
});

describe("createGroundSpeedFilter()", () => {
  test("follows a constant acceleration without lag, whatever the receiver's delay (closed form: v = a t)", () => {
    const filter = createGroundSpeedFilter(calibration());
    for (let t = 0; t < 8; t += 0.1) filter.pushEpoch(t + 0.1, 3 * t);
    const now = filter.at(8);
    expect(now?.speedMps).toBeCloseTo(24, 2);
    expect(now?.accelerationMps2).toBeCloseTo(3, 2);
  });

  test("gives the order of its inputs no weight: late epochs among wheels end where timely ones do", () => {
    const { normal } = random(4);
    const epochs = Array.from({ length: 40 }, (_, i) => ({ tS: i * 0.1, speed: 10 + 0.03 * normal() }));
    const wheels = Array.from({ length: 400 }, (_, i) => ({ tS: 0.003 + i * 0.01, speed: 10 + 0.02 * normal() }));
    const timely = createGroundSpeedFilter(calibration());
    const late = createGroundSpeedFilter(calibration());
    const events = (lateBy: number) =>
      [
        ...epochs.map((e) => ({ at: e.tS + lateBy, run: (f: typeof timely) => f.pushEpoch(e.tS + 0.1, e.speed) })),
        ...wheels.map((w) => ({ at: w.tS, run: (f: typeof timely) => f.pushWheels(w.tS, [w.speed, w.speed]) })),
      ].sort((a, b) => a.at - b.at);
    for (const event of events(0)) event.run(timely);
    for (const event of events(0.2)) if (event.at > 0.2 || event.at < 0.0001) event.run(late);
    timely.pushEpoch(4.1, 10);
    late.pushEpoch(4.1, 10);
    expect(late.at(4.2)?.speedMps).toBeCloseTo(timely.at(4.2)?.speedMps ?? Number.NaN, 2);
    expect(late.at(4.2)?.sigmaMps).toBeCloseTo(timely.at(4.2)?.sigmaMps ?? Number.NaN, 2);
  });

  test("grows its sigma by the closed form while nothing comes, then no longer knows", () => {
    const filter = createGroundSpeedFilter(calibration());
    for (let t = 0; t < 20; t += 0.1) filter.pushEpoch(t + 0.1, 15);
    const [a, b] = [filter.at(20), filter.at(20.2)];
    if (a === null || b === null) throw new Error("Expected the speed to be known within 0.3 s of an epoch");
    expect(b.sigmaMps).toBeGreaterThan(a.sigmaMps);
    // White jerk of density q adds at least q^2 t^3 / 3 to the variance of speed.
    expect(b.sigmaMps ** 2 - a.sigmaMps ** 2).toBeGreaterThan((36 * 0.2 ** 3) / 3);
    expect(filter.at(23)).toBeNull();
  });

  test("has the error it claims, wheels present (standardised error near 1)", () => {
    const { normal } = random(17);
    let squares = 0;
    let count = 0;
    for (let run = 0; run < 30; run++) {
      const filter = createGroundSpeedFilter(calibration({ receiverNoise: { whiteMps: 0.03, correlatedMps: 0.05, correlationS: 1 } }));
      let [v, a, error] = [12, 0, 0];
      for (let i = 0; i < 600; i++) {
        a += 0.1 * 10 * normal() * Math.sqrt(0.1) - 0.02 * a;
        v += a * 0.01;
        if (i % 10 === 0) {
          error = error * Math.exp(-0.1) + 0.05 * Math.sqrt(1 - Math.exp(-0.2)) * normal();
          filter.pushEpoch(i * 0.01 + 0.1, v + error + 0.03 * normal());
        }
        if (i % 10 !== 0) filter.pushWheels(i * 0.01, [v + 0.03 * normal(), null]);
        const now = filter.at(i * 0.01);
        if (i > 200 && i % 50 === 0 && now !== null) {
          squares += ((now.speedMps - v) / now.sigmaMps) ** 2;
          count += 1;
        }
      }
    }
    expect(count).toBeGreaterThan(200);
    expect(Math.sqrt(squares / count)).toBeLessThan(1.2);
  });

  test.each([
    ["locked", 0.2],
    ["lifted", 3],
  ] as const)("notices %s wheels and does not follow them", (wheels, factor) => {
    const filter = createGroundSpeedFilter(calibration());
    for (let i = 0; i < 400; i++) {
      if (i % 10 === 0) filter.pushEpoch(i * 0.01 + 0.1, 20);
      else filter.pushWheels(i * 0.01, i < 300 ? [20, 20] : [20 * factor, 20 * factor]);
    }
    const now = filter.at(4);
    expect(now?.wheels).toBe(wheels);
    expect(now?.speedMps).toBeCloseTo(20, 1);
  });

  test.each([
    ["one wheel off the ground", (v: number) => [30, v]],
    ["both off the ground", () => [30, 30]],
    ["both on their way to locking", (v: number) => [30 - 1.6 * (30 - v), 30 - 1.6 * (30 - v)]],
  ] as const)("is not carried away by wheels that part from the car slowly: %s", (_, turning) => {
    // Brakes at 8 m/s2 from the third second on; the receiver is 0.1 s late and speaks ten times a second.
    const filter = createGroundSpeedFilter(calibration());
    const trueAt = (t: number) => 30 - 8 * Math.max(0, t - 3);
    let worst = 0;
    for (let i = 0; i < 600; i++) {
      const t = i * 0.01;
      if (i % 10 === 0 && i > 10) filter.pushEpoch(t, trueAt(t - 0.1));
      filter.pushWheels(t, t < 3 ? [30, 30] : turning(trueAt(t)));
      const now = filter.at(t);
      if (t > 3.5) worst = Math.max(worst, Math.abs((now?.speedMps ?? Number.NaN) - trueAt(t)));
    }
    // Without comparison with the receiver, the wheels were 15 m/s wrong.
    expect(worst).toBeLessThan(0.5);
  });

  test("takes wheels back that roll again", () => {
    const filter = createGroundSpeedFilter(calibration());
    for (let i = 0; i < 800; i++) {
      if (i % 10 === 0) filter.pushEpoch(i * 0.01 + 0.1, 20);
      const mps = i > 200 && i < 400 ? 24 : 20;
      filter.pushWheels(i * 0.01, [mps, mps]);
      if (i === 390) expect(filter.at(3.9)?.wheels).toBe("lifted");
    }
    expect(filter.at(8)?.wheels).toBe("used");
  });

  test("takes a wheel's 0 near standing as unknown, not as standing", () => {
    const filter = createGroundSpeedFilter(calibration({ undrivenThresholdMps: 0.7 }));
    for (let i = 0; i < 200; i++) {
      if (i % 10 === 0) filter.pushEpoch(i * 0.01 + 0.1, 0.6);
      else filter.pushWheels(i * 0.01, [0, 0]);
    }
    expect(filter.at(2)?.speedMps).toBeCloseTo(0.6, 1);
  });

  test("lets the wheels bridge a lost receiver, for as long as it still vouches for them", () => {
    const filter = createGroundSpeedFilter(calibration());
    for (let i = 0; i < 1200; i++) {
      const speed = 10 + Math.max(0, i - 300) * 0.01;
      if (i % 10 === 0 && i < 300) filter.pushEpoch(i * 0.01 + 0.1, speed);
      else filter.pushWheels(i * 0.01, [speed, speed]);
      if (i === 600) expect(filter.at(6)?.speedMps).toBeCloseTo(13, 1);
    }
    expect(filter.at(12)).toBeNull();
  });
});

describe("slipAt()", () => {
  test.each([
    // Published and recomputed numbers, docs/check-values.md, slip and tyre: w rad/s, R m, v m/s, (wR - v)/v.
    [100, 0.33, 30, 0.1],
    [100, 0.3, 27, 0.1111111111],
    [60, 0.35, 20, 0.05],
    [0, 0.3, 20, -1],
  ])("gives the ratio of the table for w %d, R %d, v %d", (spinRadps, radius, v, ratio) => {
    const known = calibration({ rollingRadiusM: { value: radius, plusMinus95: 0.0003, from: "calibrated" } });
    const slip = slipAt({ spinRadps, groundSpeedMps: v, groundSigmaMps: 0.01, accelerationMps2: 3 }, known);
    expect(slip.ratio).toBeCloseTo(ratio, 9);
    expect(slip.speedMps).toBeCloseTo(ratio * v, 7);
  });

  test("shows no ratio below 10 km/h, and carries delay times acceleration into the uncertainty", () => {
    const input = { spinRadps: 10, groundSpeedMps: 2.7, groundSigmaMps: 0.01, accelerationMps2: 6 };
    expect(slipAt(input, calibration()).ratio).toBeNull();
    const [sharp, blunt] = [0.002, 0.02].map((plusMinus95) =>
      slipAt(input, calibration({ gnssDelayS: { value: 0.1, plusMinus95, from: "calibrated" } })),
    );
    expect(blunt.speedSigmaMps).toBeGreaterThan(sharp.speedSigmaMps);
  });
});
