/**
 * The simulated launch against closed forms: v = a t, v = vt tanh(a0 t / vt) with quadratic drag, and the tyre's limit a = mu g share / (1
 * - mu h / L).
 */
import { expect, test } from "vitest";
import { STANDARD_GATES, type Gate } from "../../../src/shared/launch/gate.ts";
import { type DrivenCar, driveAgain, type Launch } from "../../../src/shared/tune/drive-again.ts";

const G = 9.80665;
const MPH = 0.44704;
const gate = (name: string) => STANDARD_GATES.find((one) => one.name === name) as Gate;
// A tyre so stiff and strong that it hardly slips.
const STIFF = { B: 40, C: 1.4, D: 5, E: 0 };
const CAR: DrivenCar = {
  massKg: 1500,
  newtonPerNm: 27,
  radpsPerMps: 28,
  dragNPerMps2: 0,
  rollingN: 0,
  axleKg: 50,
  fullTorqueNm: 300,
  fullPowerW: 1e9,
  staticN: 8000,
  perMps2: 300,
};
const launch = (car: Partial<DrivenCar>, more: Partial<Launch> = {}): Launch => ({
  car: { ...CAR, ...car },
  grip: STIFF,
  askedShare: [1],
  motorLagS: 0,
  deliveredShare: 1,
  control: null,
  ...more,
});
const START = (0.5 / 3.6) * 1;

test("driveAgain() follows v = a t while torque is all that limits", () => {
  const a = (300 * 27) / (1500 + 50);
  const { seconds } = driveAgain(launch({}), gate("0-60 mph"));
  expect(Math.abs((seconds ?? Number.NaN) / ((60 * MPH - START) / a) - 1)).toBeLessThan(2e-3);
});

test("driveAgain() follows v = vt tanh(a0 t / vt) with quadratic drag, and a quarter mile its integral", () => {
  const mass = 1500 + 50;
  const a0 = (300 * 27) / mass;
  const vt = 60;
  const dragNPerMps2 = (a0 * mass) / vt ** 2;
  const at = (v: number) => (vt / a0) * Math.atanh(v / vt);
  const { seconds } = driveAgain(launch({ dragNPerMps2 }), gate("0-100 mph"));
  expect(Math.abs((seconds ?? Number.NaN) / (at(100 * MPH) - at(START)) - 1)).toBeLessThan(2e-3);
  const quarter = driveAgain(launch({ dragNPerMps2 }), gate("1/4 mile"));
  const metres = (t: number) => (vt ** 2 / a0) * Math.log(Math.cosh((a0 * t) / vt));
  expect(Math.abs(metres((quarter.seconds ?? Number.NaN) + at(START)) / 402.336 - 1)).toBeLessThan(3e-3);
});

test("driveAgain() with a control at the tyre's best accelerates as the tyre allows with the load it throws back", () => {
  const [mu, height, base, share] = [0.8, 0.5, 2.5, 0.55];
  const grip = { B: 12, C: 1.6, D: mu, E: 0.2 };
  const best = Array.from({ length: 400 }, (_, i) => (i + 1) / 1000).reduce(
    (most, slip) => {
      const x = grip.B * slip;
      const friction = grip.D * Math.sin(grip.C * Math.atan(x - grip.E * (x - Math.atan(x))));
      return friction > most.friction ? { slip, friction } : most;
    },
    { slip: 0, friction: 0 },
  ).slip;
  const control = {
    aim: { standingMps: 2.5 * best, share: best, added: false },
    nmPerMps: 85,
    nmPerM: 900,
    awayNmPerS: 5000,
    backNmPerS: 5000,
    floorNm: 0,
    lateS: 0,
    everyS: 0,
  };
  const { seconds } = driveAgain(
    launch({ staticN: 1500 * G * share, perMps2: (1500 * height) / base, fullTorqueNm: 500 }, { grip, control }),
    gate("30-60 mph"),
  );
  const a = (mu * G * share) / (1 - (mu * height) / base);
  expect(Math.abs((seconds ?? Number.NaN) / ((30 * MPH) / a) - 1)).toBeLessThan(0.02);
});

test("driveAgain() gives no time for a speed that the car never reaches", () => {
  expect(driveAgain(launch({ dragNPerMps2: 20 }), gate("0-100 mph")).seconds).toBeNull();
});
