/** Launch times against closed forms (docs/check-values.md, kinematics, kinematics.json) and against launches of known truth. */
import { describe, expect, test } from "vitest";
import { estimateRun } from "../../../src/shared/run/estimate-run.ts";
import { findLaunches } from "../../../src/shared/launch/find-launches.ts";
import { STANDARD_GATES } from "../../../src/shared/launch/gate.ts";
import type { DerivedRun } from "../../../src/shared/run/run.ts";
import { EXACT_CALIBRATION, recordingOf } from "../launch/exact-launch.ts";
import { generateLaunch, type LaunchOptions, SET_UP, trueSeconds } from "../launch/launch-generator.ts";

const START_S = 6.0137;
const STAND_MPS = 0.5 / 3.6;

/** The run of one closed-form launch whose speed since its start is `law`. */
function runOf(law: (t: number) => number, seconds: number): DerivedRun {
  const recording = recordingOf((t) => (t > START_S ? law(t - START_S) : 0), START_S + seconds);
  const windows = findLaunches(recording, EXACT_CALIBRATION, SET_UP, []);
  expect(windows).toHaveLength(1);
  return estimateRun({
    recording,
    calibration: EXACT_CALIBRATION,
    setUp: SET_UP,
    window: windows[0],
    gates: STANDARD_GATES,
    uid: "closed form",
  });
}

const gateOf = (run: DerivedRun, gate: string, start: string) => run.gates.find((one) => one.gate === gate && one.start === start);

function expectSeconds(run: DerivedRun, gate: string, start: string, seconds: number) {
  const result = gateOf(run, gate, start);
  expect(result?.seconds, `${gate} from ${start}`).not.toBeNull();
  expect(Math.abs((result?.seconds ?? 0) - seconds), `${gate} from ${start}: ${result?.seconds} for ${seconds}`).toBeLessThan(0.009);
  expect(result?.plusMinus95 ?? 0).toBeGreaterThan(0);
}

describe("estimateRun()", () => {
  test("gives the closed form of constant acceleration (docs/check-values.md, kinematics: a = 5, v = a t, x = a t^2 / 2)", () => {
    const run = runOf((t) => 5 * t, 14.5);
    // The table counts from v = 0; start movement is the rise through 0.5 km/h, v / a later.
    const later = STAND_MPS / 5;
    expectSeconds(run, "0-30 mph", "movement", 2.68224 - later);
    expectSeconds(run, "0-60 mph", "movement", 5.36448 - later);
    expectSeconds(run, "0-100 km/h", "movement", 5.555555556 - later);
    // x at v0 = 0.5 km/h is v0^2 / 2a; 60 ft beyond it.
    const place = STAND_MPS ** 2 / 10;
    expectSeconds(run, "60 ft", "movement", Math.sqrt((2 * (18.288 + place)) / 5) - later);
    expectSeconds(run, "1/4 mile", "movement", Math.sqrt((2 * (402.336 + place)) / 5) - later);
    expect(gateOf(run, "1/4 mile", "movement")?.exitSpeedKmh).toBeCloseTo(3.6 * Math.sqrt(10 * (402.336 + place)), 0);
    expectSeconds(run, "30-60 mph", "entry", 2.68224);
    // 1 ft beyond the place of start movement.
    const oneFoot = Math.sqrt((2 * (0.3048 + place)) / 5);
    expectSeconds(run, "0-60 mph", "1 ft", 5.36448 - oneFoot);
  });

  test("gives the closed form under quadratic drag (docs/check-values.md, kinematics: v = vt tanh(a0 t / vt), a0 5, vt 60)", () => {
    const run = runOf((t) => 60 * Math.tanh((5 * t) / 60), 16);
    const later = (60 / 5) * Math.atanh(STAND_MPS / 60);
    expectSeconds(run, "0-30 mph", "movement", 2.728298062 - later);
    expectSeconds(run, "0-60 mph", "movement", 5.771938221 - later);
    expectSeconds(run, "0-100 km/h", "movement", 6.012912135 - later);
  });

  test("gives the closed form of a traction limit, then constant power (docs/check-values.md, kinematics: 5 m/s2 to 20 m/s, then 100 W/kg)", () => {
    const run = runOf((t) => (t < 4 ? 5 * t : Math.sqrt(400 + 200 * (t - 4))), 16);
    const later = STAND_MPS / 5;
    expectSeconds(run, "0-60 mph", "movement", 5.597205709 - later);
    expectSeconds(run, "0-100 km/h", "movement", 5.858024691 - later);
  });

  test("lists a gate not reached with null and the reason", () => {
    const run = runOf((t) => Math.min(5 * t, 25), 9);
    expect(gateOf(run, "0-60 mph", "movement")).toMatchObject({
      seconds: null,
      plusMinus95: null,
      why: expect.stringContaining("top speed 90."),
    });
    expect(gateOf(run, "60-0 mph", "entry")).toMatchObject({
      seconds: null,
      why: expect.stringContaining("did not go on into hard braking"),
    });
  });

  test.each<[string, Partial<LaunchOptions>, number]>([
    ["torque, motor speed and undriven wheels", {}, 3],
    ["static hold", { hold: true }, 9],
    ["wet, control off", { peakMu: 0.6, control: false }, 5],
    ["no undriven wheels", { sources: "noUndriven" }, 12],
    ["receiver alone", { sources: "receiver" }, 25],
    ["receiver alone, 0 held at rest", { sources: "receiver", heldZero: true }, 30],
    ["receiver alone, correlated noise", { sources: "receiver", whiteMps: 0.021, correlatedMps: 0.021 }, 35],
  ])("0-60 mph stays inside its claim: %s", (_, options, mostMs) => {
    const cases = 8;
    let squares = 0;
    let inside = 0;
    for (let seed = 1; seed <= cases; seed++) {
      const launch = generateLaunch({ seed: 500 + seed, liftAtMps: 30, ...options });
      const windows = findLaunches(launch.recording, launch.calibration, launch.setUp, []);
      expect(windows).toHaveLength(1);
      const run = estimateRun({ ...launch, window: windows[0], gates: STANDARD_GATES, uid: "generated" });
      const result = gateOf(run, "0-60 mph", "movement");
      const error = (result?.seconds ?? Number.NaN) - trueSeconds(launch.v, 60 * 0.44704).seconds;
      squares += error ** 2;
      if (Math.abs(error) <= (result?.plusMinus95 ?? 0)) inside++;
    }
    expect(Math.sqrt(squares / cases) * 1000).toBeLessThan(mostMs);
    // With 90 % true coverage, fewer than 5 of 8 inside has probability 0.005.
    expect(inside).toBeGreaterThanOrEqual(5);
  });

  test("times hard braking to standing with an interval that holds the truth", () => {
    const launch = generateLaunch({ seed: 5, brake: true, liftAtMps: 32 });
    const [window] = findLaunches(launch.recording, launch.calibration, launch.setUp, []);
    const run = estimateRun({ ...launch, window, gates: STANDARD_GATES, uid: "stop" });
    const result = gateOf(run, "60-0 mph", "entry");
    let i = launch.v.length - 1;
    while (launch.v[i] < STAND_MPS) i--;
    const stop = i;
    while (launch.v[i] < 60 * 0.44704) i--;
    expect(Math.abs((result?.seconds ?? Number.NaN) - (stop - i) / 1000)).toBeLessThan((result?.plusMinus95 ?? 0) + 0.001);
    expect(result?.distanceM).toBeGreaterThan(30);
  });

  test("shows slip within 0.004 with undriven wheels, and none below 10 km/h", () => {
    const launch = generateLaunch({ seed: 9, liftAtMps: 30 });
    const [window] = findLaunches(launch.recording, launch.calibration, launch.setUp, []);
    const { samples, movementS } = estimateRun({ ...launch, window, gates: STANDARD_GATES, uid: "slip" });
    let squares = 0;
    let count = 0;
    samples.tS.forEach((t, k) => {
      const i = Math.round(t * 1000);
      if (launch.v[i] < 10 / 3.6 - 0.05) expect(samples.slipRatio[k]).toBeNaN();
      if (t < movementS || t > window.liftS - 0.1 || Number.isNaN(samples.slipRatio[k])) return;
      const truth = launch.wheel[i] / launch.v[i] - 1;
      squares += ((samples.slipRatio[k] - truth) / (1 + truth)) ** 2;
      count++;
    });
    expect(count).toBeGreaterThan(300);
    expect(Math.sqrt(squares / count)).toBeLessThan(0.004);
  });

  test("without four epochs a run is kept, with null gates that say why", () => {
    const launch = generateLaunch({ seed: 3, liftAtMps: 30 });
    const [window] = findLaunches(launch.recording, launch.calibration, launch.setUp, []);
    const { epochs } = launch.recording;
    const blind = { ...launch.recording, epochs: { ...epochs, speedMps: epochs.speedMps.map(() => Number.NaN) } };
    const run = estimateRun({ ...launch, recording: blind, window, gates: STANDARD_GATES, uid: "blind" });
    expect(run.gates.length).toBeGreaterThan(0);
    for (const gate of run.gates)
      expect(gate).toMatchObject({ seconds: null, why: expect.stringContaining("fewer than four receiver epochs") });
    expect(run.flags.map((flag) => flag.flag)).toContain("receiver");
    expect(run.samples.groundSpeedMps.every(Number.isNaN)).toBe(true);
  });
});
