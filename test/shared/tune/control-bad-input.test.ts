/** Runs that lack something: what can still be known about their control and about a change is given; the rest is null with the reason. */
import { KMH_AND_M, saidIn } from "../../../src/shared/kernel/shown-units.ts";
import { expect, test } from "vitest";
import { type Gate, STANDARD_GATES } from "../../../src/shared/launch/gate.ts";
import type { CarSetUp } from "../../../src/shared/setup/set-up.ts";
import { fitCar } from "../../../src/shared/tune/fit-car.ts";
import { gripCurves } from "../../../src/shared/tune/grip-curves.ts";
import { aimAt } from "../../../src/shared/tune/control-model.ts";
import { groupLosses } from "../../../src/shared/tune/group-losses.ts";
import { groupControl } from "../../../src/shared/tune/group-control.ts";
import { predict } from "../../../src/shared/tune/predict.ts";
import type { TuneRun } from "../../../src/shared/tune/tune-run.ts";
import { firstControlDay, secondControlDay } from "../../claims/control-day.ts";

const gate = STANDARD_GATES.find(({ name }) => name === "0-60 mph") as Gate;
const day = firstControlDay(31, { slip: 0.05 }, { surface: "dry", launches: 2, off: 1, gentleS: 40 });

function told(runs: readonly TuneRun[], off: readonly TuneRun[] = day.offRuns) {
  const all = [...off, ...runs];
  const car = fitCar(all);
  const control = groupControl(runs, car, null);
  const said = predict({ runs, gate, start: "movement", car, curves: gripCurves(all, car), control, trial: { slip: 0.1 } });
  return { control, said };
}
const without = (runs: readonly TuneRun[], ...roles: readonly (keyof TuneRun["samples"])[]) =>
  runs.map((run) => ({ ...run, samples: { ...run.samples, ...Object.fromEntries(roles.map((role) => [role, null])) } }));
const carOf = (runs: readonly TuneRun[], change: (car: CarSetUp) => CarSetUp) => runs.map((run) => ({ ...run, car: change(run.car) }));

const whole = told(day.runs);

test("one run: the same figures, with wider intervals", () => {
  const one = told(day.runs.slice(0, 1));
  expect(one.control.holdsSlipAt?.value).toBeCloseTo(whole.control.holdsSlipAt?.value ?? Number.NaN, 2);
  expect(one.control.holdsSlipAt?.plusMinus95).toBeGreaterThan(whole.control.holdsSlipAt?.plusMinus95 ?? Number.NaN);
  expect(one.said.gainS?.value).toBeGreaterThan(0.3);
});

test("no motor speed: slip is unknown, and so is what answers to it", () => {
  const nan = new Float64Array(day.runs[0]?.samples.tS.length ?? 0).fill(Number.NaN);
  const blind = without(day.runs, "motorRadps").map((run) => ({
    ...run,
    samples: { ...run.samples, wheelSpeedMps: nan, slipSpeedMps: nan, slipRatio: nan },
  }));
  const { control, said } = told(blind, []);
  expect(control).toMatchObject({ holdsSlipAt: null, answersAfterS: null, fit: null });
  expect(control.why.length).toBeGreaterThan(0);
  expect(said).toMatchObject({ seconds: null, gainS: null });
  expect(said.why).not.toBeNull();
});

test("a set-up without wheelbase and centre height: told all the same", () => {
  const bare = (car: CarSetUp): CarSetUp => {
    const { wheelbaseM: _w, cgHeightM: _h, ...rest } = car;
    return rest;
  };
  const { said } = told(carOf(day.runs, bare), carOf(day.offRuns, bare));
  expect(said.gainS === null ? said.why : said.gainS.value).not.toBeNull();
  if (said.gainS !== null) expect(Math.abs(said.gainS.value - (whole.said.gainS?.value ?? Number.NaN))).toBeLessThan(0.5);
});

test("runs on unlike surfaces are not driven again as one", () => {
  const [first, ...rest] = day.runs;
  const mixed = [{ ...(first as TuneRun), surface: "wet" }, ...rest];
  expect(told(mixed).said.why).toContain("unlike surfaces");
});

test("no undriven wheels: told from the receiver alone, with slip less sure", () => {
  const blind = day.runs.map((run) => ({
    ...run,
    samples: { ...run.samples, undriven: [], slipSigma: run.samples.slipSigma.map((sigma) => 4 * sigma) },
  }));
  const { control } = told(blind);
  expect(control.holdsSlipAt?.value).toBeCloseTo(whole.control.holdsSlipAt?.value ?? Number.NaN, 2);
  expect(control.holdsSlipAt?.plusMinus95).toBeGreaterThan(whole.control.holdsSlipAt?.plusMinus95 ?? Number.NaN);
});

/** The motor turns at 0.6 of what the first gear would have it, from this speed on. */
const shifted = (runs: readonly TuneRun[], fromMps: number) =>
  runs.map((run): TuneRun => {
    const { groundSpeedMps, wheelSpeedMps, motorRadps } = run.samples;
    const geared = (column: Float64Array) => column.map((value, i) => (groundSpeedMps[i] > fromMps ? 0.6 * value : value));
    const wheel = geared(wheelSpeedMps);
    const slipSpeedMps = wheel.map((w, i) => w - groundSpeedMps[i]);
    const slipRatio = slipSpeedMps.map((slip, i) => (groundSpeedMps[i] < 10 / 3.6 ? Number.NaN : slip / groundSpeedMps[i]));
    const samples = { ...run.samples, wheelSpeedMps: wheel, slipSpeedMps, slipRatio, motorRadps: motorRadps && geared(motorRadps) };
    return { ...run, samples };
  });

test("a second gear within the launches: the control is told from what came before, losses and predictions say why they are not, and of a gate that ends before they are", () => {
  const runs = shifted(day.runs, 60 / 3.6);
  const { control, said } = told(runs, shifted(day.offRuns, 60 / 3.6));
  expect(control.holdsSlipAt?.value).toBeCloseTo(whole.control.holdsSlipAt?.value ?? Number.NaN, 2);
  expect(Math.abs((control.answersAfterS?.value ?? Number.NaN) - (whole.control.answersAfterS?.value ?? Number.NaN))).toBeLessThan(0.01);
  expect(said).toMatchObject({ seconds: null, gainS: null });
  expect(saidIn(KMH_AND_M, said.why ?? "")).toMatch(/^Another gear is in from \d+ km\/h on/);
  const all = [...shifted(day.offRuns, 60 / 3.6), ...runs];
  const car = fitCar(all);
  const curves = gripCurves(all, car);
  const lossesAt = (name: string) =>
    groupLosses({ label: "day", runs, gate: STANDARD_GATES.find((one) => one.name === name) as Gate, start: "movement", car, curves });
  expect(lossesAt("0-60 mph")).toMatchObject({ quickest: null, losses: [], why: expect.stringContaining("another gear is in from") });
  expect(lossesAt("0-30 mph").quickest?.value).toBeGreaterThan(1);
  expect(lossesAt("0-30 mph").losses).toHaveLength(4);
});

test("a driven front axle: the generator's own curve and control come out, and the gain is simulated with the load that acceleration takes off it", () => {
  const front = secondControlDay(
    6,
    { lateS: 0.03, allowedShare: 0.03 },
    { surface: "wet", launches: 3, off: 2, gentleS: 60, drivenAxle: "front" },
  );
  expect(front.runs[0]?.car.drivenAxle).toBe("front");
  const { control, said } = told(front.runs, front.offRuns);
  for (const v of [15 / 3.6, 60 / 3.6])
    expect(Math.abs(aimAt(control.fit?.model.aim ?? { standingMps: Number.NaN, share: 0, added: true }, v) - front.aimMps(v))).toBeLessThan(
      0.15,
    );
  const mean = front.truths.reduce((sum, { sixtyS }) => sum + (sixtyS ?? Number.NaN), 0) / front.truths.length;
  expect(Math.abs((said.simulatedS ?? Number.NaN) / mean - 1)).toBeLessThan(0.05);
  expect(said.gainS?.value).toBeGreaterThan(0);
});
