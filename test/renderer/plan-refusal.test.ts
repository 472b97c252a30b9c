/**
 * A plan refused by the core, in the form's words: every refusal that the form can cause names a field, and none names a key of the plan
 * file.
 */
import { useUnits } from "../../src/renderer/screen/units.ts";
import { KMH_AND_M, saidIn } from "../../src/shared/kernel/shown-units.ts";
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
    [{ usableLengthM: undefined }, "usableLengthM", /^Fill in the usable length in metres, at most 20000\.$/],
    [{ usableLengthM: "long" }, "usableLengthM", /^Usable length: .*"long" stands there\.$/],
    [{ usableLengthM: 20 }, "usableLengthM", /m needed, 20 m given/],
    [{ runOffNote: " " }, "runOffNote", /say under Run-off what lies beyond the end/],
    [{ runsPerGroup: 2.5 }, "runsPerGroup", /^Runs a group: .*2\.5 stands there\.$/],
    [{ leastWaitS: -3 }, "leastWaitS", /^Wait: /],
    [{ hold: { stateOfCharge: { low: 90, high: 70 } } }, "hold.stateOfCharge", /^Charge: the least must be lower than the most\.$/],
    [{ hold: { motorTemperature: { high: "cold" } } }, "hold.motorTemperature", /^Motor max: /],
    [{ directionNames: ["out", ""] }, "directionNames", /^First direction, and back: both need a name; one is empty\.$/],
    [{ directionNames: ["back", "back"] }, "directionNames", /^First direction, and back: two different names/],
    [{ usableLengthM: 1e99 }, "usableLengthM", /^Usable length: .*at most 20000; 1e\+99 stands there\.$/],
    [{ runsPerGroup: "" }, "runsPerGroup", /^Fill in Runs a group: .*from 2 to 100\.$/],
    [{ runsPerGroup: 1 }, "runsPerGroup", /^Runs a group: .*from 2 to 100; 1 stands there\.$/],
    [{ runsPerGroup: "1".repeat(10_000) }, "runsPerGroup", /^.{20,200}$/],
    [{ hold: { stateOfCharge: { low: "x" } } }, "hold.stateOfCharge", /^Charge: expected percent from 0 to 100; "x" stands there\.$/],
    [{ hold: { stateOfCharge: { high: 101 } } }, "hold.stateOfCharge", /^Charge: .*101 stands there\.$/],
    [{ hold: { motorTemperature: { high: -400 } } }, "hold.motorTemperature", /^Motor max: expected °C from -60 to 300; -400 stands/],
    [{ groups: ["off"] }, "groups", /^Groups: a first and a second are needed; one is empty\.$/],
    [{ groups: ["off", "off"] }, "groups", /^Groups: .*two are the same\.$/],
    [{ groups: ["off", "a".repeat(10_000)] }, "groups", /^Groups: expected names of at most 60 letters; .{50,80}$/],
  ])("%j is said of its field", (change, field, words) => {
    const refusal = planRefusal(refused(change));
    expect(refusal.field).toBe(field);
    expect(saidIn(KMH_AND_M, refusal.words)).toMatch(words);
    // Only what stands in a field can be wrong.
    expect(refusal.missing ?? false).toBe(/^Fill in|one is empty|need a note/.test(refusal.words) && field !== "directionNames");
    expect(refusal.words).not.toMatch(/usableLengthM|runOffNote|runsPerGroup|leastWaitS|stateOfCharge|motorTemperature|directionNames/);
  });

  test("what is hoped for reads as seconds, or the field says so", () => {
    for (const sound of [undefined, 0.1, -0.3]) expect(hopedRefusal(sound)).toBeNull();
    for (const wrong of ["x", 0, 1e99])
      expect(hopedRefusal(wrong)).toMatchObject({ field: "hoped", words: expect.stringMatching(/^Expected difference: /) });
  });

  test("what it does not know stays as it came", () => {
    expect(planRefusal("The book is closed")).toEqual({ words: "The book is closed", field: null });
  });
});

test("a length is refused in the unit that it was typed in", () => {
  useUnits("mph");
  // 30,000 m are 98,425.197 ft, and the 20,000 m that are the most are 65,616.8 (NIST SP 811: a foot is 0.3048 m).
  expect(planRefusal(refused({ usableLengthM: 30_000 })).words).toBe(
    "Usable length: expected the usable length in ft, at most 65616; 98425.197 stands there.",
  );
  expect(planRefusal(refused({ usableLengthM: "long" })).words).toContain('"long" stands there');
  useUnits("km/h");
  expect(planRefusal(refused({ usableLengthM: 30_000 })).words).toContain("in metres, at most 20000; 30000 stands there");
});
