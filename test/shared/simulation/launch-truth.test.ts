/** True gates against closed-form kinematics (constant 5 m/s2; exact mile, foot and mph). */
import { expect, test } from "vitest";
import { createLaunchTrace, type LaunchTruth } from "../../../src/shared/simulation/launch-truth.ts";

const A = 5;
const V0 = 0.5 / 3.6;

/** Stands 2 s, goes at 5 m/s2 for 10 s with 10 % slip, brakes at 8 m/s2. */
function constantLaunch(): LaunchTruth {
  const trace = createLaunchTrace();
  const top = 50;
  for (let ms = 0; ms < 22_000; ms += 1) {
    const t = ms / 1e3 - 2;
    if (t < 0) trace.add(0, 0, 0, 0);
    else if (t <= 10) trace.add(A * t, 0.5 * A * t * t, 0.1000001 * A * t, 100);
    else {
      const b = Math.min(t - 10, top / 8);
      trace.add(top - 8 * b, 250 + top * b - 4 * b * b, 0, 0);
    }
  }
  return trace.truth();
}

const find = (truth: LaunchTruth, gate: string, start: string) => truth.gates.find((g) => g.gate === gate && g.start === start);

test("launch truth of a constant 5 m/s2 agrees with the closed forms, from movement and from 1 ft", () => {
  const truth = constantLaunch();
  const t0 = V0 / A;
  const x0 = (V0 * V0) / (2 * A);
  const footS = Math.sqrt((2 * (x0 + 0.3048)) / A);
  expect(truth.movementS).toBeCloseTo(2 + t0, 6);
  for (const [gate, mph] of [
    ["0-30 mph", 30],
    ["0-60 mph", 60],
    ["0-100 mph", 100],
  ] as const) {
    expect(find(truth, gate, "movement")?.seconds).toBeCloseTo((mph * 0.44704) / A - t0, 6);
    expect(find(truth, gate, "1 ft")?.seconds).toBeCloseTo((mph * 0.44704) / A - footS, 5);
  }
  const sixty = find(truth, "60 ft", "movement");
  expect(sixty?.seconds).toBeCloseTo(Math.sqrt((2 * (x0 + 18.288)) / A) - t0, 6);
  expect(sixty?.exitSpeedKmh).toBeCloseTo(Math.sqrt(2 * A * (x0 + 18.288)) * 3.6, 3);
  expect(find(truth, "1/8 mile", "1 ft")?.seconds).toBeCloseTo(Math.sqrt((2 * (x0 + 0.3048 + 201.168)) / A) - footS, 5);
  expect(find(truth, "50-100 km/h", "entry")?.seconds).toBeCloseTo(50 / 3.6 / A, 6);
  const stop = find(truth, "100-0 km/h", "entry");
  expect(stop?.seconds).toBeCloseTo((100 / 3.6 - V0) / 8, 5);
  expect(stop?.distanceM).toBeCloseTo(((100 / 3.6) ** 2 - V0 ** 2) / 16, 3);
});

test("launch truth names what was not reached, and a distance rolled to after the run's end is not timed", () => {
  const truth = constantLaunch();
  expect(find(truth, "0-200 km/h", "movement")).toMatchObject({ seconds: null, why: expect.any(String) });
  expect(find(truth, "1/4 mile", "movement")).toMatchObject({ seconds: null });
});

test("launch truth: slip ratio counts from 10 km/h only, seconds above 10 % likewise", () => {
  const { slip } = constantLaunch();
  expect(slip.peakSlipRatio).toBeCloseTo(0.1, 5);
  expect(slip.secondsAbove10Percent).toBeCloseTo(10 - 10 / 3.6 / A, 2);
  expect(slip.peakSlipSpeedKmh).toBeCloseTo(18, 3);
});

test("launch truth starts at the LAST rise through 0.5 km/h before the first gate", () => {
  const trace = createLaunchTrace();
  let x = 0;
  const add = (mps: number) => {
    x += mps * 1e-3;
    trace.add(mps, x, 0, 100);
  };
  for (let ms = 0; ms < 500; ms += 1) add(0.3 * Math.sin((Math.PI * ms) / 500));
  for (let ms = 0; ms < 500; ms += 1) add(0);
  for (let ms = 0; ms < 6000; ms += 1) add(5e-3 * ms);
  expect(trace.truth().movementS).toBeCloseTo(1 + V0 / 5, 3);
});
