/** Quickest and losses against closed forms: even accelerations, constant power, each cause in a stretch of its own. */
import { expect, test } from "vitest";
import { STANDARD_GATES, type Gate } from "../../../src/shared/launch/gate.ts";
import type { GroupLosses } from "../../../src/shared/tune/group-losses.ts";
import { groupLosses } from "../../../src/shared/tune/group-losses.ts";
import { quickestOf } from "../../../src/shared/tune/quickest.ts";
import { knownTyre } from "../../../src/shared/tune/known-tyre.ts";
import {
  known,
  knownCar,
  knownCurve,
  knownRun,
  secondsOf,
  SIXTY_MPS,
  START_MPS,
  type Stretch,
  withoutTorque,
} from "./known-launch.fixture.ts";

const gateNamed = (name: string) => STANDARD_GATES.find((gate) => gate.name === name) as Gate;
const SIXTY = gateNamed("0-60 mph");
/** Peak friction 1 on half the weight. */
const BEST_MPS2 = 9.80665 / 2;
const LEAST_S = (SIXTY_MPS - START_MPS) / BEST_MPS2;

const full = { askedNm: 400, deliveredNm: 400, slip: 0.15 };
/** One cause in each stretch: asked too little to 10 m/s, held back to 18, spun to 24, then as quick as possible. */
const EACH: readonly Stretch[] = [
  { toMps: 10, mps2: 2, askedNm: 200, deliveredNm: 200, slip: 0.05 },
  { toMps: 18, mps2: 3, askedNm: 400, deliveredNm: 240, slip: 0.06 },
  { toMps: 24, mps2: 4, askedNm: 400, deliveredNm: 240, slip: 0.3 },
  { toMps: SIXTY_MPS, mps2: BEST_MPS2, ...full },
];
const lost = (fromMps: number, toMps: number, mps2: number) => (toMps - fromMps) / mps2 - (toMps - fromMps) / BEST_MPS2;

const ask = (runs: Parameters<typeof groupLosses>[0]["runs"], change: Partial<Parameters<typeof groupLosses>[0]> = {}) =>
  groupLosses({ label: "as set", runs, gate: SIXTY, start: "movement", car: knownCar(), curves: [knownCurve()], ...change });
const secondsFor = ({ losses }: GroupLosses, cause: string) => losses.find((loss) => loss.cause === cause)?.seconds;

test("each cause gets the seconds of its own stretch, and they add up to seconds less quickest", () => {
  const found = ask([knownRun(1, EACH)]);
  expect(found.why).toBeNull();
  expect(found.seconds).toBeCloseTo(secondsOf(EACH), 9);
  expect(found.quickest?.value).toBeCloseTo(LEAST_S, 4);
  // A step of 10 ms across a boundary goes to one side of it as a whole.
  expect(Math.abs((secondsFor(found, "askedLate") ?? 0) - lost(START_MPS, 10, 2))).toBeLessThan(0.01);
  expect(Math.abs((secondsFor(found, "heldBack") ?? 0) - lost(10, 18, 3))).toBeLessThan(0.01);
  expect(Math.abs((secondsFor(found, "spin") ?? 0) - lost(18, 24, 4))).toBeLessThan(0.01);
  expect(Math.abs(secondsFor(found, "rest") ?? 1)).toBeLessThan(0.01);
  const sum = found.losses.reduce((total, { seconds }) => total + seconds, 0);
  expect(sum).toBeCloseTo((found.seconds ?? 0) - (found.quickest?.value ?? 0), 10);
});

test("along the speed axis the bands add up to the causes, and the loss stands where it was driven", () => {
  const found = ask([knownRun(1, EACH)]);
  for (const { cause, seconds } of found.losses) {
    const sum = found.bands.reduce((total, band) => total + (band.losses.find((loss) => loss.cause === cause)?.seconds ?? 0), 0);
    expect(sum).toBeCloseTo(seconds, 10);
  }
  expect(found.bands.map(({ fromKmh }) => fromKmh)).toEqual([0, 20, 40, 60, 80]);
  expect(found.bands.at(-1)?.toKmh).toBeCloseTo(96.56, 2);
  // In bands of 10 mph, which are 16.09344 km/h (NIST SP 811), the same losses stand once more.
  expect(found.mphBands.map(({ fromKmh }) => Number(fromKmh.toFixed(5)))).toEqual(
    [0, 1, 2, 3, 4, 5].map((i) => Number((i * 16.09344).toFixed(5))),
  );
  for (const { cause, seconds } of found.losses) {
    const sum = found.mphBands.reduce((total, band) => total + (band.losses.find((loss) => loss.cause === cause)?.seconds ?? 0), 0);
    expect(sum).toBeCloseTo(seconds, 9);
  }
  const late = found.bands.map((band) => band.losses.find((loss) => loss.cause === "askedLate")?.seconds ?? 0);
  // Up to 10 m/s is 36 km/h: nothing of it above 40.
  expect(late[0]).toBeGreaterThan(0.5);
  expect(late[1]).toBeGreaterThan(0.5);
  expect(late.slice(2).every((seconds) => seconds === 0)).toBe(true);
});

test("a group's figures are the means of its runs", () => {
  const quick: readonly Stretch[] = [{ toMps: SIXTY_MPS, mps2: BEST_MPS2, ...full }];
  const both = ask([knownRun(1, EACH), knownRun(2, quick)]);
  const [one, two] = [ask([knownRun(1, EACH)]), ask([knownRun(2, quick)])];
  for (const [i, { seconds }] of both.losses.entries())
    expect(seconds).toBeCloseTo(((one.losses[i]?.seconds ?? 0) + (two.losses[i]?.seconds ?? 0)) / 2, 10);
  expect(both.each.map(({ run }) => run)).toEqual([1, 2]);
});

test("the motor limits where the tyre could give more: full torque, then power, as closed forms have it", () => {
  // Slip near nothing: a tyre far stiffer than any.
  const stiff = knownCurve({ formula: { B: 4000, C: 1.5, D: 5, E: 0 }, bestSlip: { value: 0.05, plusMinus95: 0 } });
  const car = knownCar({ fullTorqueNm: known(200), fullPowerW: known(90e3) });
  const quickest = quickestOf(car, knownTyre(stiff) as NonNullable<ReturnType<typeof knownTyre>>, 40);
  // 200 Nm x 30 N/Nm / 1,500 kg = 4 m/s2 up to 90 kW / 6 kN = 15 m/s, then m (v^2 - 15^2) / (2 P).
  expect(quickest.timeS(15)).toBeCloseTo(15 / 4, 3);
  expect(quickest.timeS(30) - quickest.timeS(15)).toBeCloseTo((1500 * (30 ** 2 - 15 ** 2)) / (2 * 90e3), 2);
  expect(quickest.at(10).limit).toBe("motor");
});

test("load transfer: mu g w / (1 - mu h / L) on a rear axle, 0.9 x 9.80665 x 0.55 / (1 - 0.9 x 0.2)", () => {
  const curve = knownCurve({ formula: { B: 10, C: 1.9, D: 0.9, E: 0.97 } });
  const car = knownCar({ fullTorqueNm: known(4000), load: { staticN: 1500 * 9.80665 * 0.55, perMps2: 1500 * 0.2, share95: 0 } });
  const { mps2, limit } = quickestOf(car, knownTyre(curve) as NonNullable<ReturnType<typeof knownTyre>>, 10).at(5);
  expect(limit).toBe("tyre");
  expect(mps2).toBeCloseTo((0.9 * 9.80665 * 0.55) / (1 - 0.9 * 0.2), 4);
});

test("where the tyre at its best slip would need more power than there is, the quickest launch slips less: where tyre and motor meet", () => {
  const curve = knownCurve();
  const tyre = knownTyre(curve) as NonNullable<ReturnType<typeof knownTyre>>;
  const car = knownCar({ fullTorqueNm: known(1000), fullPowerW: known(150e3) });
  // Peak: 4.903 m/s2 x 1,500 kg at v (1 + 0.1802) is 150 kW at 17.28 m/s; at zero slip it would be 20.39 m/s.
  const peakN = (9.80665 / 2) * 1500;
  expect(quickestOf(car, tyre, 30).at(150e3 / peakN / 1.1802 - 0.1).limit).toBe("tyre");
  const { mps2, limit } = quickestOf(car, tyre, 30).at(19);
  expect(limit).toBe("motor");
  // Tried at every slip: the most of the lesser of the two.
  let most = 0;
  for (let k = 0; k <= 0.1802; k += 1e-5) {
    const friction = Math.sin(1.9 * Math.atan(10 * k - 0.97 * (10 * k - Math.atan(10 * k))));
    most = Math.max(most, Math.min((friction * 9.80665) / 2, 150e3 / (19 * (1 + k)) / 1500));
  }
  expect(mps2).toBeCloseTo(most, 4);
  // Tyre and motor push alike there, found in a handful of tries: a season's losses ask for millions.
  let [tries, last] = [0, 0];
  const frictionAt = (slip: number) => {
    [tries, last] = [tries + 1, slip];
    return tyre.frictionAt(slip);
  };
  const speeds = Array.from({ length: 80 }, (_, i) => 17.5 + i / 10);
  const ready = quickestOf(car, { ...tyre, frictionAt }, 0);
  tries = 0;
  for (const speed of speeds) {
    const push = ready.at(speed);
    expect(push.limit).toBe("motor");
    expect((tyre.frictionAt(last) * 9.80665) / 2).toBeCloseTo(push.mps2, 5);
  }
  expect(tries / speeds.length).toBeLessThan(12);
});

test("an inverter that reports 1 % too little torque makes no car quicker: force is told per newton metre asked", () => {
  const even: readonly Stretch[] = [{ toMps: SIXTY_MPS, mps2: 4, askedNm: 200, deliveredNm: 198, slip: 0.05 }];
  const stiff = knownCurve({ formula: { B: 4000, C: 1.5, D: 5, E: 0 }, bestSlip: { value: 0.05, plusMinus95: 0 } });
  // Fitted on delivered torque: 30 / 0.99 N for each Nm. 200 Nm asked for are 4 m/s2 all the same.
  const car = knownCar({ fullTorqueNm: known(200), newtonPerNm: known(30 / 0.99) });
  const found = ask([knownRun(1, even)], { car, curves: [stiff] });
  expect(found.quickest?.value).toBeCloseTo((SIXTY_MPS - START_MPS) / 4, 3);
});

test("an uncertain tyre makes quickest uncertain by as much: 2 % of peak friction is 2 % of the time", () => {
  const found = ask([knownRun(1, EACH)]);
  expect(found.quickest?.plusMinus95).toBeCloseTo(0.02 * LEAST_S, 2);
  for (const { plusMinus95 } of found.losses) expect(plusMinus95).toBeGreaterThan(0);
});

test("runs drawn anew carry their shape on: where one drawing has its best at twice the slip, what spun is unsure by half of it", () => {
  // B of 10 has its best slip at 0.18, B of 5 at 0.36: with the latter, 0.3 is not spin.
  const resampled = [10, 5].map((B) => ({ B, C: 1.9, D: 1, E: 0.97 }));
  const found = ask([knownRun(1, EACH)], { curves: [knownCurve({ resampled })] });
  const spin = found.losses.find(({ cause }) => cause === "spin");
  // One of two draws changes all of it: root mean square 1 / sqrt(2) of what spun, times 1.96.
  expect(Math.abs((spin?.plusMinus95 ?? 0) - 1.96 * Math.SQRT1_2 * (spin?.seconds ?? 0))).toBeLessThan(0.02);
});

test("each launch is held against its own grip: one that grips 5 % better could have been 5 % quicker, and its doubt is the answer's", () => {
  const runGrip = [{ run: 1, ratio: { value: 1.05, plusMinus95: 0.04 * 1.05 } }];
  const found = ask([knownRun(1, EACH)], {
    curves: [knownCurve({ runGrip, resampled: [1, 1.1].map((D) => ({ B: 10, C: 1.9, D, E: 0.97 })) })],
  });
  expect(found.quickest?.value).toBeCloseTo(LEAST_S / 1.05, 3);
  // The level of resampled runs is not counted as a second uncertainty.
  expect(Math.abs((found.quickest?.plusMinus95 ?? 0) - (0.04 * LEAST_S) / 1.05)).toBeLessThan(0.01);
});

test("a peak that was never reached gives no quickest, and what was lost at least", () => {
  const why = "The peak was not reached: largest slip under full load 0.04.";
  const curve = knownCurve({ bestSlip: null, peakFriction: null, why, largestSlip: 0.04 });
  const held = EACH.map((stretch) => ({ ...stretch, slip: Math.min(stretch.slip, 0.04) }));
  const found = ask([knownRun(1, held)], { curves: [curve] });
  expect(found).toMatchObject({ quickest: null, losses: [], why });
  // Friction at 0.04 of that tyre, by the published formula: 10 k = 0.4.
  const friction = Math.sin(1.9 * Math.atan(0.4 - 0.97 * (0.4 - Math.atan(0.4))));
  const least = (SIXTY_MPS - START_MPS) / ((friction * 9.80665) / 2);
  expect(found.atLeast?.quickestAtMost).toBeCloseTo(least, 3);
  expect(found.atLeast?.losses.find(({ cause }) => cause === "spin")?.seconds).toBe(0);
});

test("a motor that never asks the peak of the tyre has a quickest all the same", () => {
  const curve = knownCurve({ bestSlip: null, peakFriction: null, why: "The peak was not reached.", largestSlip: 0.04 });
  const slowly: readonly Stretch[] = [{ toMps: SIXTY_MPS, mps2: 1.9, askedNm: 100, deliveredNm: 100, slip: 0.03 }];
  const found = ask([knownRun(1, slowly)], { curves: [curve], car: knownCar({ fullTorqueNm: known(100) }) });
  expect(found.quickest?.value).toBeCloseTo((SIXTY_MPS - START_MPS) / 2, 2);
});

test("without torque, a time, a curve, or from a distance, the answer says what is missing", () => {
  const run = knownRun(1, EACH);
  expect(ask([run], { car: withoutTorque() })).toMatchObject({
    quickest: null,
    losses: [],
    why: expect.stringContaining("No torque is mapped"),
  });
  expect(ask([run], { gate: gateNamed("0-100 mph") })).toMatchObject({ seconds: null, why: expect.stringContaining("0-100 mph") });
  expect(ask([run], { curves: [] }).why).toContain("Slip under full load");
  expect(ask([run], { gate: gateNamed("60 ft") }).why).toContain("60 ft");
  expect(ask([run], { start: "1 ft" }).why).toContain("1 ft");
});

test("where the asked torque is unknown only spin is told, and the rest says how much of it is untold", () => {
  const found = ask([knownRun(1, EACH, ["torqueRequest"])]);
  expect(secondsFor(found, "heldBack")).toBe(0);
  expect(secondsFor(found, "askedLate")).toBe(0);
  expect(Math.abs((secondsFor(found, "spin") ?? 0) - lost(18, 24, 4))).toBeLessThan(0.01);
  expect(found.each[0]?.untoldS).toBeCloseTo(secondsFor(found, "rest") ?? 0, 9);
});

test("a launch quicker than the fitted car could drive is not told as lost time: the set-up is doubted instead", () => {
  const found = ask([knownRun(1, [{ toMps: SIXTY_MPS, mps2: 1.4 * BEST_MPS2, ...full }])]);
  expect(found).toMatchObject({ quickest: null, losses: [], each: [] });
  expect(found.why).toMatch(/^the fitted car could not drive this: its quickest is 5\.\d\d.s, and 3\.\d\d.s was driven; check mass/);
});
