/**
 * Grip curves from launches of known formulas. Sources: Magic Formula coefficients published for dry, wet, snow and ice with their best slips 0.1802,
 * 0.0882, 0.3115 and 0.3894 (docs/check-values.md, slip and tyre); Burckhardt's dry asphalt (1.2801, 23.99, 0.52), best wheel-normalised slip 0.170008.
 */
import { describe, expect, test } from "vitest";
import { fitCar } from "../../../src/shared/tune/fit-car.ts";
import { frictionAt, type GripFormula } from "../../../src/shared/tune/grip-curve.ts";
import { gripCurves } from "../../../src/shared/tune/grip-curves.ts";
import type { TuneRun } from "../../../src/shared/tune/tune-run.ts";
import { CAR, type SlipLaunch, slipLaunch, sweep } from "./slip-launch.fixture.ts";

const DRY: GripFormula = { B: 10, C: 1.9, D: 1, E: 0.97 };
const PUBLISHED = [
  { surface: "dry", formula: DRY, best: 0.180194 },
  { surface: "wet", formula: { B: 12, C: 2.3, D: 0.82, E: 1 }, best: 0.088164 },
  { surface: "snow", formula: { B: 5, C: 2, D: 0.3, E: 1 }, best: 0.311482 },
  { surface: "ice", formula: { B: 4, C: 2, D: 0.1, E: 1 }, best: 0.389352 },
] as const;
const EXACT = { mass: 0, frontWeightShare: 0, cgHeight: 0 };

const curvesOf = (runs: readonly TuneRun[]) => gripCurves(runs, fitCar(runs, { tolerance: EXACT }));
const only = (runs: readonly TuneRun[]) => {
  const curves = curvesOf(runs);
  expect(curves).toHaveLength(1);
  return curves[0];
};
/** Launches that sweep slip up and launches that sweep it down, slightly different from each other. */
const launches = (count: number, from: number, to: number, rest: Omit<SlipLaunch, "id" | "slipAt">) =>
  Array.from({ length: count }, (_, i) => {
    const slipAt = i % 2 === 0 ? sweep(from, to, rest.seconds) : sweep(to * 0.95, from * 1.1, rest.seconds);
    return slipLaunch({ id: i + 1, slipAt, ...rest });
  });

describe("published surfaces", () => {
  for (const { surface, formula, best } of PUBLISHED) {
    test(`${surface}: best slip ${best} and peak ${formula.D} are found within their intervals and the promised figures`, () => {
      const curve = only(launches(4, 0.02, 1.8 * best, { formula, surface, noiseMps2: 0.02, seconds: formula.D < 0.2 ? 40 : 6 }));
      expect(curve.why).toBeNull();
      expect(Math.abs((curve.bestSlip?.value ?? 0) - best)).toBeLessThan(Math.min(0.01 + 0.05 * best, curve.bestSlip?.plusMinus95 ?? 0));
      expect(Math.abs((curve.peakFriction?.value ?? 0) / formula.D - 1)).toBeLessThan(0.02);
      expect(curve.surface).toBe(surface);
      expect(curve.runs).toEqual([1, 2, 3, 4]);
    });
  }

  test("of a season of 90 launches the same is found, of which some tell where the fit starts", () => {
    const curve = only(launches(90, 0.02, 0.32, { formula: DRY, noiseMps2: 0.02 }));
    expect(Math.abs((curve.bestSlip?.value ?? 0) - 0.180194)).toBeLessThan(Math.min(0.01, curve.bestSlip?.plusMinus95 ?? 0));
    expect(Math.abs((curve.peakFriction?.value ?? 0) - 1)).toBeLessThan(0.02);
    expect(curve.runs).toHaveLength(90);
  });

  test("the fitted formula runs along the published one wherever slip went, within 1 %", () => {
    const { formula, curve, largestSlip } = only(launches(4, 0.02, 0.32, { formula: DRY, noiseMps2: 0.02 }));
    if (formula === null) throw new Error("no formula");
    for (let slip = 0.03; slip < (largestSlip ?? 0); slip += 0.01)
      expect(Math.abs(frictionAt(formula, slip) - frictionAt(DRY, slip))).toBeLessThan(0.01);
    expect(curve.length).toBeGreaterThan(15);
    for (const point of curve) {
      expect(point.low).toBeLessThan(frictionAt(DRY, point.slip));
      expect(point.high).toBeGreaterThan(frictionAt(DRY, point.slip));
    }
  });
});

test("Burckhardt's curve, which no Magic Formula is: its best slip of 0.2048 over ground speed is found within 0.01, its peak of 1.17 within 2 %", () => {
  const burckhardt = (slip: number) => {
    const s = slip / (1 + slip);
    return 1.2801 * (1 - Math.exp(-23.99 * s)) - 0.52 * s;
  };
  // Written into the columns by a formula that is exact at each instant.
  const runs = [sweep(0.02, 0.45), sweep(0.4, 0.03), sweep(0.03, 0.42)].map((slipAt, i) => {
    const run = slipLaunch({ id: i + 1, slipAt, formula: DRY });
    const { samples, startIndex, endIndex } = run;
    for (let k = startIndex; k < endIndex; k += 1) {
      const friction = burckhardt(samples.slipRatio[k]);
      const resist = 0.6 * 0.62 * samples.groundSpeedMps[k] ** 2 + 0.0115 * 1480 * 9.80665;
      samples.accelerationMps2[k] = (friction * 1480 * 9.80665 * 0.556 - resist) / (1480 - (friction * 1480 * 0.5) / 2.45);
    }
    return run;
  });
  const { bestSlip, peakFriction } = only(runs);
  expect(Math.abs((bestSlip?.value ?? 0) - 0.17000841 / (1 - 0.17000841))).toBeLessThan(0.01);
  expect(Math.abs((peakFriction?.value ?? 0) / 1.17002 - 1)).toBeLessThan(0.02);
});

describe("what the launches did not show", () => {
  test("the peak that was not reached is null, and says how far slip went and what would show it", () => {
    const curve = only(launches(4, 0.01, 0.04, { formula: DRY, noiseMps2: 0.02 }));
    expect(curve.bestSlip).toBeNull();
    expect(curve.peakFriction).toBeNull();
    expect(curve.why).toMatch(/^the peak was not reached: largest slip under full load 0\.04; one run that allows 12 % would show it/);
    expect(curve.formula).not.toBeNull();
  });

  test("slip that was over the best in every launch says so, and what would show it", () => {
    const curve = only(launches(4, 0.3, 0.8, { formula: { B: 12, C: 2.3, D: 0.82, E: 1 }, noiseMps2: 0.02 }));
    expect(curve.bestSlip).toBeNull();
    expect(curve.why).toMatch(/^the peak was passed in every launch: least slip under full load 0\.3/);
  });

  test("without motor speed there is no slip, and no curve", () => {
    const curve = only(launches(3, 0.02, 0.3, { formula: DRY, without: ["motorSpeed"] }));
    expect(curve).toMatchObject({ bestSlip: null, formula: null, curve: [], why: "slip is unknown: no run has motor speed" });
  });

  test("without a rolling radius, or with launches too short, the reason is another", () => {
    const runs = launches(2, 0.02, 0.3, { formula: DRY });
    const radiusless = runs.map((run) => {
      run.samples.slipRatio.fill(Number.NaN);
      return { ...run, calibration: null };
    });
    expect(only(radiusless).why).toMatch(/^slip is unknown: the rolling radius is not known/);
    expect(only(launches(2, 0.02, 0.3, { formula: DRY, seconds: 0.5 })).why).toMatch(/^no launch has half a second of slip/);
  });

  test("without torque the curve comes from the car's motion, as well", () => {
    const curve = only(launches(4, 0.02, 0.32, { formula: DRY, without: ["torqueDelivered", "torqueRequest"] }));
    expect(Math.abs((curve.bestSlip?.value ?? 0) - 0.1802)).toBeLessThan(0.015);
    expect(Math.abs((curve.peakFriction?.value ?? 0) - 1)).toBeLessThan(0.02);
    expect(curve.peakFriction?.plusMinus95).toBeGreaterThan(0.025);
    expect(curve.notes.join()).toContain("Runs without torque");
  });

  test("a rolling radius that nobody calibrated is in the interval of best slip: it shifts every run alike", () => {
    const runs = launches(4, 0.02, 0.32, { formula: DRY });
    const unsure = runs.map((run) => {
      if (run.calibration === null) return run;
      const rollingRadiusM = { ...run.calibration.rollingRadiusM, plusMinus95: 0.02 * run.calibration.rollingRadiusM.value };
      return { ...run, calibration: { ...run.calibration, rollingRadiusM } };
    });
    expect(only(runs).bestSlip?.plusMinus95).toBeLessThan(0.02);
    expect(only(unsure).bestSlip?.plusMinus95).toBeGreaterThan(0.02 * 1.18);
  });

  test("one run is enough for a curve, with a wider interval", () => {
    const all = launches(4, 0.02, 0.32, { formula: DRY, noiseMps2: 0.02 });
    const one = only(all.slice(0, 1));
    expect(one.peakFriction?.plusMinus95).toBeGreaterThan(only(all).peakFriction?.plusMinus95 ?? 1);
    expect(Math.abs((one.bestSlip?.value ?? 0) - 0.1802)).toBeLessThan(one.bestSlip?.plusMinus95 ?? 0);
  });

  test("a set-up without wheelbase, height and weight share widens the peak's interval and names the keys", () => {
    const { wheelbaseM: _w, cgHeightM: _h, frontWeightShare: _f, ...written } = CAR;
    const curve = only(launches(4, 0.02, 0.32, { formula: DRY, written }));
    expect(curve.notes.join()).toContain("frontWeightShare, cgHeightM, wheelbaseM");
    expect(curve.peakFriction?.plusMinus95).toBeGreaterThan(0.1);
    expect(Math.abs((curve.peakFriction?.value ?? 0) - 1)).toBeLessThan(curve.peakFriction?.plusMinus95 ?? 0);
    expect(Math.abs((curve.bestSlip?.value ?? 0) - 0.1802)).toBeLessThan(0.015);
  });

  test("a driven front axle: accelerating takes load off it, the same curve comes out", () => {
    const car = { ...CAR, drivenAxle: "front" as const, frontWeightShare: 0.6 };
    const curve = only(launches(4, 0.02, 0.32, { formula: DRY, car }));
    expect(Math.abs((curve.peakFriction?.value ?? 0) - 1)).toBeLessThan(0.02);
  });

  test("a second gear within a launch: what came before is used, and it is said where it was put in", () => {
    const secondGear = { fromS: 4, share: 0.6 };
    const runs = Array.from({ length: 4 }, (_, i) => slipLaunch({ id: i + 1, slipAt: sweep(0.02, 0.45), formula: DRY, secondGear }));
    const curve = only(runs);
    expect(curve.notes.filter((note) => note.includes("another gear is in"))).toHaveLength(4);
    expect(Math.abs((curve.bestSlip?.value ?? 0) - 0.1802)).toBeLessThan(0.015);
  });
});

test("slip that is known badly counts for less where the curve is steep: half the runs 0.02 off, and told to be, move the curve by under 3 %", () => {
  const runs = launches(4, 0.02, 0.32, { formula: DRY });
  const blurred = runs.map((run, i) => {
    if (i > 1) return run;
    run.samples.slipRatio.forEach((slip, k) => {
      run.samples.slipRatio[k] = slip + 0.02;
    });
    run.samples.slipSigma.fill(0.1);
    return run;
  });
  const { formula } = only(blurred);
  if (formula === null) throw new Error("no formula");
  for (const slip of [0.03, 0.05, 0.08]) expect(Math.abs(frictionAt(formula, slip) / frictionAt(DRY, slip) - 1)).toBeLessThan(0.03);
});

describe("runs that are not alike", () => {
  test("each surface has a curve of its own", () => {
    const dry = launches(3, 0.02, 0.32, { formula: DRY, surface: "dry" });
    const wet = Array.from({ length: 3 }, (_, i) =>
      slipLaunch({ id: 11 + i, slipAt: sweep(0.02, 0.2), formula: PUBLISHED[1].formula, surface: "wet" }),
    );
    const curves = curvesOf([...dry, ...wet]);
    expect(curves.map((curve) => [curve.surface, curve.runs])).toEqual([
      ["dry", [1, 2, 3]],
      ["wet", [11, 12, 13]],
    ]);
    expect(curves[0].peakFriction?.value).toBeCloseTo(1, 1);
    expect(curves[1].peakFriction?.value).toBeCloseTo(0.82, 1);
  });

  test("one run that grips 5 % less than the others of its surface is named", () => {
    const runs = [1, 1, 1, 0.95, 1].map((grip, i) => slipLaunch({ id: i + 1, slipAt: sweep(0.02, 0.32), formula: DRY, grip }));
    const curve = only(runs);
    expect(curve.notes.filter((note) => note.startsWith("Run "))).toEqual([
      expect.stringMatching(/^Run 4 grips [45]\.\d % less than the other runs/),
    ]);
    expect((curve.runGrip[3]?.ratio.value ?? 0) / (curve.runGrip[0]?.ratio.value ?? 1)).toBeCloseTo(0.95, 2);
  });

  test("grip that falls through the day is said", () => {
    const runs = [1.02, 1.012, 1.004, 0.996, 0.988, 0.98].map((grip, i) =>
      slipLaunch({ id: i + 1, slipAt: sweep(0.02, 0.32), formula: DRY, grip }),
    );
    expect(only(runs).notes.join()).toMatch(/Grip falls by [34]\.\d % from the first to the last/);
  });
});

test("resampled formulas scatter as the interval says, from one run as from four", () => {
  for (const count of [4, 1]) {
    const runs = launches(count, 0.02, 0.32, { formula: DRY, noiseMps2: 0.05 });
    const car = fitCar(runs, { tolerance: EXACT });
    const sure = {
      ...car,
      dragAreaM2: { ...car.dragAreaM2, plusMinus95: 0 },
      rollingResistance: { ...car.rollingResistance, plusMinus95: 0 },
    };
    const [{ peakFriction, resampled }] = gripCurves(runs, sure);
    expect(resampled.length).toBeGreaterThanOrEqual(100);
    const sigma = Math.sqrt(resampled.reduce((sum, { D }) => sum + (D - (peakFriction?.value ?? 0)) ** 2, 0) / resampled.length);
    // A hundred curves give a standard deviation to 7 %.
    expect((1.96 * sigma) / (peakFriction?.plusMinus95 ?? 0)).toBeGreaterThan(0.8);
    expect((1.96 * sigma) / (peakFriction?.plusMinus95 ?? 0)).toBeLessThan(1.2);
  }
});

test("the same runs give the same figures to the bit", () => {
  const runs = launches(3, 0.02, 0.32, { formula: DRY, noiseMps2: 0.05 });
  expect(curvesOf(runs)).toEqual(curvesOf(runs));
});
