/** Checks the second generator against sources outside the project: closed forms, published tyre values, variance of AR(1). */
import { describe, expect, test } from "vitest";
import type { Trace } from "../../support/second-car/dynamics.ts";
import { drive } from "../../support/second-car/dynamics.ts";
import { filesOf } from "../../support/second-car/files.ts";
import { createNoise, createRandom } from "../../support/second-car/random.ts";
import { drawRecipe } from "../../support/second-car/recipe.ts";
import { recordDrive, tracksOf } from "../../support/second-car/second-car.ts";
import { launchesOf } from "../../support/second-car/truth.ts";
import { frictionAt } from "../../support/second-car/tyre.ts";

/** A trace that follows a closed form, one launch long. */
function closedTrace(speed: (t: number) => number, place: (t: number) => number, seconds: number): Trace {
  const length = Math.round(seconds * 1000) + 1;
  const column = (f: (t: number) => number) => Float64Array.from({ length }, (_, i) => f(i / 1000));
  const zero = new Float64Array(length);
  return {
    stepS: 0.001,
    length,
    speedMps: column(speed),
    placeM: column(place),
    wheelRadps: zero,
    motorRadps: zero,
    undrivenSlip: zero,
    requestNm: zero,
    commandNm: zero,
    deliveredNm: zero,
    pedalPercent: zero,
    control: new Uint8Array(length),
    phases: [{ phase: { kind: "launch", rampS: 0.1, toMps: 99, control: false }, fromS: 0, toS: seconds }],
  };
}

const secondsOf = (trace: Trace, gate: string, start: string): number =>
  launchesOf(trace, drawRecipe(1))[0].gates.find((g) => g.gate === gate && g.start === start)?.seconds ?? Number.NaN;

describe("launchesOf() against closed forms (docs/check-values.md, kinematics)", () => {
  test("constant 5 m/s2: every gate from rest, less the time to 0.5 km/h", () => {
    const trace = closedTrace(
      (t) => 5 * t,
      (t) => 2.5 * t * t,
      14,
    );
    const moveS = 0.5 / 3.6 / 5;
    expect(secondsOf(trace, "0-30 mph", "movement")).toBeCloseTo(2.68224 - moveS, 6);
    expect(secondsOf(trace, "0-60 mph", "movement")).toBeCloseTo(5.36448 - moveS, 6);
    expect(secondsOf(trace, "30-60 mph", "entry")).toBeCloseTo(2.68224, 6);
    // x = v0 t + a t^2 / 2 from the place at movement, v0 = 0.5 km/h.
    const v0 = 0.5 / 3.6;
    const fromMovement = (x: number) => (-v0 + Math.sqrt(v0 * v0 + 10 * x)) / 5;
    expect(secondsOf(trace, "60 ft", "movement")).toBeCloseTo(fromMovement(18.288), 5);
    expect(secondsOf(trace, "1/4 mile", "movement")).toBeCloseTo(fromMovement(402.336), 5);
    expect(secondsOf(trace, "0-60 mph", "1 ft")).toBeCloseTo(5.36448 - moveS - fromMovement(0.3048), 5);
  });

  test("quadratic drag v = vt tanh(a0 t / vt), a0 5, vt 60", () => {
    const trace = closedTrace(
      (t) => 60 * Math.tanh((5 * t) / 60),
      (t) => (3600 / 5) * Math.log(Math.cosh((5 * t) / 60)),
      14,
    );
    const moveS = (60 / 5) * Math.atanh(0.5 / 3.6 / 60);
    expect(secondsOf(trace, "0-60 mph", "movement")).toBeCloseTo(5.771938221 - moveS, 5);
    expect(secondsOf(trace, "0-100 km/h", "movement")).toBeCloseTo(6.012912135 - moveS, 5);
  });
});

test("drive() of constant torque on a stiff tyre follows the drag-limited closed form", () => {
  const recipe = drawRecipe(3, { calibrationS: 0, surface: "dry" });
  const car = {
    ...recipe.car,
    rollingResistance: 0,
    motorDragNm: 0,
    maxPowerW: 1e9,
    maxTorqueNm: 120,
    inverterLagS: 0.001,
    tyre: { c1: 4, c2: 40, c3: 0 },
    shaftNmPerRad: 20000,
  };
  const phases = [{ kind: "launch", rampS: 0.001, toMps: 26.83, control: false }] as const;
  const trace = drive({ ...recipe, car, phases });
  const R = car.rollingRadiusM;
  const inertiaKg = car.massKg + (car.wheelsKgM2 + car.rotorKgM2 * car.gearRatio ** 2) / (R * R);
  const a0 = (120 * car.gearRatio) / R / inertiaKg;
  const vt = Math.sqrt((120 * car.gearRatio) / R / (0.6 * car.dragAreaM2));
  const expected = (vt / a0) * Math.atanh(26.8224 / vt);
  const reached = trace.speedMps.findIndex((v) => v >= 26.8224) / 1000;
  // Slip of a few tenths of a percent adds to the rotor's speed, and so to its share of the inertia.
  expect(Math.abs(reached / expected - 1)).toBeLessThan(0.004);
});

test("frictionAt() gives Burckhardt's dry asphalt: peak 1.170020 at 0.170008, 1.111856 at 0.1, 0.7601 locked", () => {
  const dry = { c1: 1.2801, c2: 23.99, c3: 0.52 };
  expect(frictionAt(dry, 0.17000840950972046)).toBeCloseTo(1.170019928847359, 9);
  expect(frictionAt(dry, 0.1)).toBeCloseTo(1.1118557618588316, 9);
  expect(frictionAt(dry, 1)).toBeCloseTo(0.7600999999511888, 9);
  expect(frictionAt(dry, 0.1695)).toBeLessThan(frictionAt(dry, 0.17000840950972046));
  expect(frictionAt(dry, 0.1705)).toBeLessThan(frictionAt(dry, 0.17000840950972046));
});

test("createNoise() has the variance and the lag-one correlation of AR(1) plus white", () => {
  const n = 200_000;
  const noise = createNoise(createRandom(5), 0.02, 0.03, 0.5, 0.1);
  const x = Float64Array.from({ length: n }, noise);
  const cov = (lag: number) => x.subarray(lag).reduce((s, v, i) => s + v * x[i], 0) / (n - lag);
  // Stationary AR(1): autocovariance sigma^2 rho^k, rho = exp(-step / time). Bands: 4 standard errors, effective n = n (1 - rho) / (1 + rho).
  const rho = Math.exp(-0.2);
  const band = (4 * Math.SQRT2 * (0.0009 + 0.0004)) / Math.sqrt((n * (1 - rho)) / (1 + rho));
  expect(Math.abs(cov(0) - (0.0004 + 0.0009))).toBeLessThan(band);
  expect(Math.abs(cov(1) - 0.0009 * rho)).toBeLessThan(band);
  expect(Math.abs(cov(5) - 0.0009 * rho ** 5)).toBeLessThan(band);
});

test("rolling radius of the truth is what the driven wheel does without torque", () => {
  // Motion after lifting off: extrapolate metres per radian against tyre force to zero by least squares.
  const recipe = drawRecipe(12, { launches: 0 });
  const trace = drive(recipe);
  const points: [number, number][] = [];
  for (let i = 20_000; i < 120_000; i += 10) {
    if (trace.speedMps[i] < 8) continue;
    const axleNm =
      (trace.deliveredNm[i] -
        recipe.car.motorDragNm -
        recipe.car.rotorKgM2 * ((trace.motorRadps[i + 5] - trace.motorRadps[i - 5]) / 0.01)) *
      recipe.car.gearRatio;
    const wheelNm = axleNm - recipe.car.wheelsKgM2 * ((trace.wheelRadps[i + 5] - trace.wheelRadps[i - 5]) / 0.01);
    points.push([wheelNm, trace.speedMps[i] / trace.wheelRadps[i]]);
  }
  const mean = (f: (p: [number, number]) => number) => points.reduce((s, p) => s + f(p), 0) / points.length;
  const [mx, my] = [mean((p) => p[0]), mean((p) => p[1])];
  const slope = mean((p) => (p[0] - mx) * (p[1] - my)) / mean((p) => (p[0] - mx) ** 2);
  expect(Math.abs((my - slope * mx) / recipe.car.rollingRadiusM - 1)).toBeLessThan(0.0002);
});

describe("recordDrive()", () => {
  const kind = { calibrationS: 20, launches: 1 } as const;

  test("gives the same bytes for the same seed, other bytes for another", () => {
    const first = filesOf(recordDrive(drawRecipe(41, kind)));
    expect(filesOf(recordDrive(drawRecipe(41, kind)))).toEqual(first);
    expect(filesOf(recordDrive(drawRecipe(42, kind)))["receiver.nmea"]).not.toBe(first["receiver.nmea"]);
  });

  test("never lets a byte arrive before it was sent, and keeps arrival order", () => {
    const drive = recordDrive(drawRecipe(43, kind));
    const tracks = tracksOf(drive);
    const rising = (c: Float64Array) => c.every((v, i) => i === 0 || v >= c[i - 1]);
    expect(rising(tracks.epochs.arrivalNs)).toBe(true);
    expect(rising(tracks.busClock.adapterMs)).toBe(true);
    expect(drive.bus.frames.every((f, i) => i === 0 || f.arrivalS >= drive.bus.frames[i - 1].arrivalS)).toBe(true);
  });
});
