/** A change predicted, then driven: the simulated car's own milliseconds with the change are the truth (promised: gain within 30 %, inside its interval). */
import { describe, expect, test } from "vitest";
import { type Gate, STANDARD_GATES } from "../../../src/shared/launch/gate.ts";
import { fitCar } from "../../../src/shared/tune/fit-car.ts";
import { gripCurves } from "../../../src/shared/tune/grip-curves.ts";
import { groupControl } from "../../../src/shared/tune/group-control.ts";
import { predict } from "../../../src/shared/tune/predict.ts";
import type { Trial } from "../../../src/shared/tune/trial.ts";
import type { TuneRun } from "../../../src/shared/tune/tune-run.ts";
import { firstControlDay } from "../../claims/control-day.ts";

const gate = STANDARD_GATES.find(({ name }) => name === "0-60 mph") as Gate;
const ASK = { surface: "dry", launches: 3, off: 2, gentleS: 60 } as const;
const day = firstControlDay(21, { slip: 0.04 }, ASK);
const all = [...day.offRuns, ...day.runs];
const car = fitCar(all);
const curves = gripCurves(all, car);
const control = groupControl(day.runs, car, null);
const ask = (trial: Trial, runs: readonly TuneRun[] = day.runs, seen = control) =>
  predict({ runs, gate, start: "movement", car, curves, control: seen, trial });
const meanOf = (truths: typeof day.truths) => truths.reduce((sum, { sixtyS }) => sum + (sixtyS ?? Number.NaN), 0) / truths.length;

test("more slip gains what driving it then gains", () => {
  const said = ask({ slip: 0.12 });
  const driven = firstControlDay(21, { slip: 0.12 }, ASK);
  const gained = meanOf(day.truths) - meanOf(driven.truths);
  expect(gained).toBeGreaterThan(1);
  expect(said.words).toContain("simulation");
  expect(Math.abs((said.gainS?.value ?? Number.NaN) - gained)).toBeLessThan(0.3 * gained);
  expect(Math.abs((said.gainS?.value ?? Number.NaN) - gained)).toBeLessThan(said.gainS?.plusMinus95 ?? 0);
  expect(Math.abs((said.seconds?.value ?? Number.NaN) - meanOf(driven.truths))).toBeLessThan(said.seconds?.plusMinus95 ?? 0);
});

test("nothing changed takes as long as was measured", () => {
  const said = ask({});
  expect(Math.abs((said.simulatedS ?? Number.NaN) - meanOf(day.truths))).toBeLessThan(0.05 * meanOf(day.truths));
  expect(Math.abs(said.gainS?.value ?? Number.NaN)).toBeLessThan(0.15);
});

describe("what cannot be driven again says why", () => {
  test("a surface that no run shows", () => {
    const said = ask({ surface: "wet" });
    expect(said.seconds).toBeNull();
    expect(said.why).toContain("conditions surface=wet");
  });

  test("a slip that the runs never showed", () => {
    const few = gripCurves(day.runs, car);
    const said = predict({ runs: day.runs, gate, start: "movement", car, curves: few, control, trial: { slip: 0.25 } });
    expect(said.why).toContain("what 25.0 % would bring is unknown");
  });

  test("runs without torque", () => {
    const bare = day.runs.map((run) => ({ ...run, samples: { ...run.samples, askedNm: null, commandNm: null, deliveredNm: null } }));
    const blind = fitCar(bare);
    const said = predict({
      runs: bare,
      gate,
      start: "movement",
      car: blind,
      curves: gripCurves(bare, blind),
      control: groupControl(bare, blind, null),
      trial: { slip: 0.1 },
    });
    expect(said.gainS).toBeNull();
    expect(said.why).toContain("Without full torque");
  });

  test("no runs", () => expect(ask({}, []).why).toContain("no run to drive again"));
});

test("a car driven without control is given one of usual strength, and that is said", () => {
  const said = ask({ slip: 0.12 }, day.offRuns, groupControl(day.offRuns, car, null));
  expect(said.notes.join(" ")).toContain("usual strength");
  expect(said.gainS?.value).toBeGreaterThan(0);
});

test("the same control on a road that other runs showed takes as long as driving it there does", () => {
  const wet = firstControlDay(21, { slip: 0.04 }, { ...ASK, surface: "wet" });
  // The wet road is known only from launches without control; those with it are the truth.
  const roads = [...all, ...wet.offRuns];
  const known = fitCar(roads);
  const said = predict({
    runs: day.runs,
    gate,
    start: "movement",
    car: known,
    curves: gripCurves(roads, known),
    control: groupControl(day.runs, known, null),
    trial: { surface: "wet" },
  });
  expect(said.gainS).toBeNull();
  const driven = meanOf(wet.truths);
  expect(Math.abs((said.seconds?.value ?? Number.NaN) - driven)).toBeLessThan(0.05 * driven);
  expect(Math.abs((said.seconds?.value ?? Number.NaN) - driven)).toBeLessThan(said.seconds?.plusMinus95 ?? 0);
});
