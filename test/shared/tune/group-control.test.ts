/**
 * What a control did, against controls of known setting on both generators: level, lateness, how often it looks. The generators' own
 * milliseconds are the truth.
 */
import { describe, expect, test } from "vitest";
import { median } from "../../../src/shared/kernel/statistics.ts";
import { aimAt } from "../../../src/shared/tune/control-model.ts";
import { fitCar } from "../../../src/shared/tune/fit-car.ts";
import { type GroupControl, groupControl } from "../../../src/shared/tune/group-control.ts";
import type { TuneRun } from "../../../src/shared/tune/tune-run.ts";
import { type ControlDay, firstControlDay, secondControlDay, trueAnswerS } from "../../claims/control-day.ts";

const ASK = { launches: 3, gentleS: 40 } as const;
const controlOf = (runs: readonly TuneRun[]) => groupControl(runs, fitCar(runs), null);
const answerOf = (day: ControlDay) => median(day.truths.map((truth) => trueAnswerS(truth, day.aimMps) ?? Number.NaN));
const without = (runs: readonly TuneRun[], ...roles: readonly (keyof TuneRun["samples"])[]) =>
  runs.map((run) => ({ ...run, samples: { ...run.samples, ...Object.fromEntries(roles.map((role) => [role, null])) } }));

function holdsTo(day: ControlDay, control: GroupControl): void {
  expect(day.missed).toBe(0);
  // Promised: lateness within 10 ms at 100 Hz.
  expect(Math.abs((control.answersAfterS?.value ?? Number.NaN) - answerOf(day))).toBeLessThan(0.01);
  const aim = control.fit?.model.aim ?? { standingMps: Number.NaN, share: Number.NaN, added: true };
  for (const v of [15 / 3.6, 60 / 3.6]) expect(Math.abs(aimAt(aim, v) - day.aimMps(v))).toBeLessThan(0.1);
}

describe("the simulated car", () => {
  const day = firstControlDay(11, { slip: 0.05, lateS: 0.03 }, { surface: "dry", ...ASK });
  const control = controlOf(day.runs);

  test("a control that answers 30 ms late at 5 % slip is seen to", () => {
    holdsTo(day, control);
    expect(control.holdsSlipAt?.value).toBeCloseTo(0.05, 2);
    expect(control.overshoot?.value).toBeGreaterThan(1);
    for (const { interventions } of control.each) {
      expect(interventions.length).toBeGreaterThanOrEqual(1);
      expect(interventions[0]?.deepestNm).toBeGreaterThan(50);
    }
  });

  test("looking faster than the bus is said to be no finer than the bus", () => {
    expect(control.seenEveryS).toMatchObject({ atBus: true });
    expect(control.seenEveryS?.value).toBeCloseTo(0.01, 3);
    expect(control.why.join(" ")).toContain("every frame of the bus");
  });

  test("one that looks 20 times a second shows it in the steps of torque", () => {
    const slow = controlOf(firstControlDay(12, { slip: 0.1, everyS: 0.05, strength: 0.5 }, { surface: "dry", ...ASK }).runs);
    expect(slow.seenEveryS).toMatchObject({ atBus: false });
    expect(slow.seenEveryS?.value).toBeCloseTo(0.05, 2);
  });

  test("without a command answers are timed by what was delivered, and that is said", () => {
    const delivered = controlOf(without(day.runs, "commandNm"));
    expect(delivered.from).toBe("delivered");
    // The motor lags its command by 8 ms.
    expect(Math.abs((delivered.answersAfterS?.value ?? Number.NaN) - answerOf(day))).toBeLessThan(0.02);
    expect(delivered.why.join(" ")).toContain("No commanded torque");
  });

  test("without torque, or with the control off, there is nothing to tell and why is said", () => {
    expect(controlOf(without(day.runs, "askedNm"))).toMatchObject({ holdsSlipAt: null, answersAfterS: null, each: [], fit: null });
    expect(controlOf(without(day.runs, "commandNm", "deliveredNm")).why[0]).toContain("not both mapped");
    const off = day.runs.map((run) => ({ ...run, samples: { ...run.samples, commandNm: run.samples.askedNm } }));
    expect(controlOf(off).why[0]).toContain("No torque was held back");
  });
});

test("the second car's limiter, 40 ms late on a wet road", () => {
  const day = secondControlDay(3, { lateS: 0.04, allowedShare: 0.05 }, { surface: "wet", ...ASK });
  const control = controlOf(day.runs);
  holdsTo(day, control);
  expect(control.oscillationHz?.value).toBeGreaterThan(1);
});
