/** Runs that lack something: what can still be told of their control and of a change is told, and the rest is null with the reason. */
import { expect, test } from "vitest";
import { type Gate, STANDARD_GATES } from "../../../src/shared/launch/gate.ts";
import type { CarSetUp } from "../../../src/shared/setup/set-up.ts";
import { fitCar } from "../../../src/shared/tune/fit-car.ts";
import { gripCurves } from "../../../src/shared/tune/grip-curves.ts";
import { groupControl } from "../../../src/shared/tune/group-control.ts";
import { predict } from "../../../src/shared/tune/predict.ts";
import type { TuneRun } from "../../../src/shared/tune/tune-run.ts";
import { firstControlDay } from "../../claims/control-day.ts";

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
