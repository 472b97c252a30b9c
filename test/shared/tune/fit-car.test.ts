/**
 * The fitted car from launches in closed form: what was put in must lie inside the interval that comes out, and what is missing must be
 * named.
 */
import { describe, expect, test } from "vitest";
import { fitCar } from "../../../src/shared/tune/fit-car.ts";
import { fullTorqueOf } from "../../../src/shared/tune/full-torque.ts";
import type { ForceBlocks } from "../../../src/shared/tune/force-blocks.ts";
import { CAR, type SlipLaunch, slipLaunch, sweep, TRUE_ROLLING } from "./slip-launch.fixture.ts";

const DRY = { B: 10, C: 1.9, D: 1, E: 0.97 };
const EXACT = { mass: 0, frontWeightShare: 0, cgHeight: 0 };
const runsOf = (count: number, rest: Partial<SlipLaunch>) =>
  Array.from({ length: count }, (_, i) =>
    slipLaunch({ id: i + 1, slipAt: sweep(0.05 + 0.01 * i, 0.11), formula: DRY, seconds: 7, noiseMps2: 0.02, ...rest }),
  );
const inside = (figure: { value: number; plusMinus95: number }, truth: number) => Math.abs(figure.value - truth) <= figure.plusMinus95;

describe("launches with torque", () => {
  const written = { ...CAR, dragAreaM2: 0.7, wheelInertiaKgM2: 5.2 };
  const car = fitCar(runsOf(6, { written, torqueReads: 1.03 }), { tolerance: EXACT });

  test("drag and rolling come out within their intervals, nearer than the set-up had them", () => {
    expect(inside(car.dragAreaM2, 0.62)).toBe(true);
    expect(car.dragAreaM2.from).toBe("fitted");
    expect(Math.abs(car.dragAreaM2.value - 0.62)).toBeLessThan(0.04);
    expect(inside(car.rollingResistance, TRUE_ROLLING)).toBe(true);
  });

  test("an inverter that reads 3 % too much is seen and said", () => {
    expect(car.torqueCheck?.ratio.value).toBeCloseTo(1.03, 2);
    expect(car.torqueCheck?.disagree).toBe(true);
    expect(car.torqueCheck?.words).toMatch(
      /^Torque says [23]\.\d % more force than the car's motion .*: mass, gear efficiency or the inverter's estimate$/,
    );
    expect(car.newtonPerNm.value).toBeCloseTo(9.04 / 0.324 / 1.03, 0);
  });

  test("where all runs went one way, slope and wind are named as well: they would read the same", () => {
    const words = (courses: readonly number[]) =>
      fitCar(
        runsOf(6, { written, torqueReads: 1.03 }).map((run, i) => ({ ...run, courseDeg: courses[i % courses.length] ?? null })),
        { tolerance: EXACT },
      ).torqueCheck?.words;
    expect(words([72, 75])).toMatch(/as all runs went one way, slope or wind/);
    expect(words([72, 252])).not.toMatch(/slope|wind/);
  });

  test("full torque is the plateau that was asked; power is where asking falls as one over motor speed", () => {
    expect(car.fullTorqueNm.value).toBeCloseTo(420, 0);
    expect((car.fullPowerW.value ?? 0) / 255e3).toBeCloseTo(1, 2);
  });

  test("torque that agrees is said to agree", () => {
    const agreeing = fitCar(runsOf(6, {}), { tolerance: EXACT }).torqueCheck;
    expect(agreeing?.disagree).toBe(false);
    expect(agreeing?.words).toMatch(/tell the same force/);
  });
});

test("gentle driving narrows drag and rolling", () => {
  const runs = runsOf(2, { seconds: 3 });
  // Coasting and pulling between 5 and 25 m/s, every term from the equation of motion.
  const gentle: ForceBlocks[] = [0, 1, 2].map((unit) => {
    const v = Float64Array.from({ length: 30 }, (_, i) => 5 + (20 * i) / 29);
    const torque = v.map((_, i) => ((i + unit) % 3) * 15);
    const inertiaKg = 1480 + 5.9 / 0.324 ** 2;
    const a = v.map((speed, i) => ((torque[i] * 9.04) / 0.324 - 0.6 * 0.62 * speed ** 2 - TRUE_ROLLING * 1480 * 9.80665) / inertiaKg);
    return { accelerationMps2: a, torqueNm: torque, spinRadps2: a.map((mps2) => mps2 / 0.324), speedMps: v };
  });
  const [without, with_] = [fitCar(runs, { tolerance: EXACT }), fitCar(runs, { tolerance: EXACT, gentle })];
  expect(with_.dragAreaM2.plusMinus95).toBeLessThan(without.dragAreaM2.plusMinus95);
  expect(inside(with_.dragAreaM2, 0.62)).toBe(true);
  expect(with_.rollingResistance.plusMinus95).toBeLessThan(without.rollingResistance.plusMinus95);
  expect(without.notes.join()).toContain("No gentle driving");
});

test("without torque the set-up's values stand, and each says why", () => {
  const car = fitCar(runsOf(3, { without: ["torqueDelivered", "torqueRequest"] }));
  expect(car.dragAreaM2).toMatchObject({ value: 0.62, from: "set-up", why: expect.stringContaining("No run has delivered torque") });
  expect(car.fullTorqueNm).toMatchObject({ value: null, plusMinus95: null, why: expect.stringContaining("torque") });
  expect(car.torqueCheck).toBeNull();
  expect(car.notes.join()).toContain("No torque in any run");
});

test("a set-up without drag and inertia takes usual values, wide, and says so", () => {
  const { dragAreaM2: _d, wheelInertiaKgM2: _i, ...written } = CAR;
  const car = fitCar(runsOf(3, { written, without: ["torqueDelivered"] }));
  expect(car.dragAreaM2.why).toContain("as the set-up has none");
  expect(inside(car.dragAreaM2, 0.62)).toBe(true);
  expect(inside(car.axleInertiaKgM2, 5.9)).toBe(true);
});

test("a second gear within the launches spoils neither the torque check nor the inertia", () => {
  const car = fitCar(runsOf(6, { secondGear: { fromS: 3, share: 0.6 } }), { tolerance: EXACT });
  expect(car.torqueCheck?.ratio.value).toBeCloseTo(1, 2);
  expect(inside(car.dragAreaM2, 0.62)).toBe(true);
});

describe("a motor that gives less than it is asked for", () => {
  /** 378 Nm of 420 asked, from 0.3 s on. */
  const short = (control: number | null) =>
    runsOf(3, { seconds: 3 }).map((run) => {
      const { tS, pedalPercent } = run.samples;
      const deliveredNm = tS.map((t, i) => ((pedalPercent?.[i] ?? 0) > 50 && t > run.movementS + 0.3 ? 378 : 0));
      const askedNm = tS.map((_, i) => ((pedalPercent?.[i] ?? 0) > 50 ? 420 : 0));
      return { ...run, samples: { ...run.samples, deliveredNm, askedNm, controlActive: control === null ? null : tS.map(() => control) } };
    });

  test("is taken for its most where the bus shows that no control held it back", () => {
    expect(fullTorqueOf(short(0)).fullTorqueNm.value).toBeCloseTo(378, 6);
  });

  test("is not where a control was at work, or nothing says whether one was", () => {
    expect(fullTorqueOf(short(1)).fullTorqueNm.value).toBeCloseTo(420, 6);
    expect(fullTorqueOf(short(null)).fullTorqueNm.value).toBeCloseTo(420, 6);
  });
});

test("launches that end before the power limit leave power unknown, and say how far they went", () => {
  const car = fitCar(runsOf(3, { seconds: 2 }));
  expect(car.fullTorqueNm.value).toBeCloseTo(420, 0);
  expect(car.fullPowerW).toMatchObject({ value: null, why: expect.stringMatching(/up to \d+ kW/) });
});

test("no run at all is refused", () => {
  expect(() => fitCar([])).toThrow(/at least one run/);
});
