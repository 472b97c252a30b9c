/** Forces of a fitted car against worked closed forms. */
import { expect, test } from "vitest";
import { drivenLoadN, fullTorqueAt, resistanceN } from "../../../src/shared/tune/fitted-car.ts";

const figure = (value: number) => ({ value, plusMinus95: 0, from: "set-up" as const });

test("resistance: 0.62 m2 at 30 m/s in air of 1.2 kg/m3 is 334.8 N, rolling of 0.0115 on 1,480 kg is 166.9 N", () => {
  const car = { massKg: figure(1480), dragAreaM2: figure(0.62), rollingResistance: figure(0.0115) };
  expect(resistanceN(car, 0)).toBeCloseTo(0.0115 * 1480 * 9.80665, 9);
  expect(resistanceN(car, 30) - resistanceN(car, 0)).toBeCloseTo(334.8, 9);
});

test("load: m h / L for each m/s2, and never pulls the axle down", () => {
  const load = { staticN: 8000, perMps2: (1480 * 0.5) / 2.45, share95: 0 };
  expect(drivenLoadN(load, 5)).toBeCloseTo(8000 + 1510.2, 1);
  expect(drivenLoadN(load, -60)).toBe(0);
});

test("full torque: constant up to power over speed, then falling; null where never seen", () => {
  const car = { fullTorqueNm: figure(420), fullPowerW: figure(255e3) };
  expect(fullTorqueAt(car, 100)).toBe(420);
  expect(fullTorqueAt(car, 850)).toBeCloseTo(300, 9);
  const unknown = { value: null, plusMinus95: null, from: "fitted" as const, why: "No launch." };
  expect(fullTorqueAt({ fullTorqueNm: figure(420), fullPowerW: unknown }, 850)).toBe(420);
  expect(fullTorqueAt({ fullTorqueNm: unknown, fullPowerW: unknown }, 850)).toBeNull();
});
