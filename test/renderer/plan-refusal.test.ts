/** A plan refused by the core, in the form's words: every refusal that the form can provoke names a field, and none a key of the plan file. */
import { describe, expect, test } from "vitest";
import { hopedRefusal, planRefusal } from "../../src/renderer/pages/plan/plan-refusal.ts";
import { checkPlanRequest } from "../../src/shared/judge/check-plan-request.ts";
import { createPlan } from "../../src/shared/judge/plan.ts";

const sound = {
  groups: ["off", "on"],
  runsPerGroup: 6,
  usableLengthM: 900,
  withoutControl: ["off"],
  runOffNote: "grass",
  directionNames: ["out", "back"],
  leastWaitS: 0,
};

/** What the core says of it. */
function refused(change: Record<string, unknown>): string {
  try {
    createPlan(checkPlanRequest({ ...sound, ...change }), { freshSeed: 1, ownGates: [], seen: {} });
  } catch (error) {
    return (error as Error).message;
  }
  throw new Error("expected the core to refuse it");
}

describe("planRefusal()", () => {
  test.each([
    [{ usableLengthM: undefined }, "usableLengthM", /^Usable length: .*it is empty\.$/],
    [{ usableLengthM: "long" }, "usableLengthM", /^Usable length: .*"long" stands there\.$/],
    [{ usableLengthM: 20 }, "usableLengthM", /m needed, 20 m given/],
    [{ runOffNote: " " }, "runOffNote", /say under Run-off what lies beyond the end/],
    [{ runsPerGroup: 2.5 }, "runsPerGroup", /^Runs a group: .*2\.5 stands there\.$/],
    [{ leastWaitS: -3 }, "leastWaitS", /^Wait: /],
    [{ hold: { stateOfCharge: { low: 90, high: 70 } } }, "hold.stateOfCharge", /^Charge: the least must be lower than the most\.$/],
    [{ hold: { motorTemperature: { high: "cold" } } }, "hold.motorTemperature", /^Motor below: /],
    [{ directionNames: ["out", ""] }, "directionNames", /^Driven out as, and back as: both need a name; one is empty\.$/],
    [{ directionNames: ["back", "back"] }, "directionNames", /^Driven out as, and back as: two different names/],
    [{ usableLengthM: 1e99 }, "usableLengthM", /^Usable length: .*at most 20000; 1e\+99 stands there\.$/],
    [{ runsPerGroup: "" }, "runsPerGroup", /^Runs a group: .*from 2 to 100; it is empty\.$/],
    [{ runsPerGroup: 1 }, "runsPerGroup", /^Runs a group: .*from 2 to 100; 1 stands there\.$/],
    [{ runsPerGroup: "1".repeat(10_000) }, "runsPerGroup", /^.{20,200}$/],
    [{ hold: { stateOfCharge: { low: "x" } } }, "hold.stateOfCharge", /^Charge: expected percent from 0 to 100; "x" stands there\.$/],
    [{ hold: { stateOfCharge: { high: 101 } } }, "hold.stateOfCharge", /^Charge: .*101 stands there\.$/],
    [{ hold: { motorTemperature: { high: -400 } } }, "hold.motorTemperature", /^Motor below: expected °C from -60 to 300; -400 stands/],
    [{ groups: ["off"] }, "groups", /^Groups: a first and a second are needed; one is empty\.$/],
    [{ groups: ["off", "off"] }, "groups", /^Groups: .*two are the same\.$/],
    [{ groups: ["off", "a".repeat(10_000)] }, "groups", /^Groups: expected names of at most 60 letters; .{50,80}$/],
  ])("%j is said of its field", (change, field, words) => {
    const refusal = planRefusal(refused(change));
    expect(refusal.field).toBe(field);
    expect(refusal.words).toMatch(words);
    expect(refusal.words).not.toMatch(/usableLengthM|runOffNote|runsPerGroup|leastWaitS|stateOfCharge|motorTemperature|directionNames/);
  });

  test("what is hoped for reads as seconds, or the field says so", () => {
    for (const sound of [undefined, 0.1, -0.3]) expect(hopedRefusal(sound)).toBeNull();
    for (const wrong of ["x", 0, 1e99])
      expect(hopedRefusal(wrong)).toMatchObject({ field: "hoped", words: expect.stringMatching(/^Hoped for: /) });
  });

  test("what it does not know stays as it came", () => {
    expect(planRefusal("The book is closed")).toEqual({ words: "The book is closed", field: null });
  });
});
