/** Sources: the design's safety figures (73, 204, 315 m; the look's 203 m). */
import { readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { describe, expect, test } from "vitest";
import { checkPlanRequest } from "../../../src/shared/judge/check-plan-request.ts";
import { createPlan, PlanError } from "../../../src/shared/judge/plan.ts";
import { asDrivenPlan, fillSlots, planProgress } from "../../../src/shared/judge/plan-progress.ts";
import { checkUsableLength, stopM } from "../../../src/shared/judge/usable-length.ts";
import { STANDARD_GATES } from "../../../src/shared/launch/gate.ts";
import { KMH_AND_M, saidIn } from "../../../src/shared/kernel/shown-units.ts";
import { MPS_PER_KMH, MPS_PER_MPH } from "../../../src/shared/kernel/units.ts";

const raw = {
  groups: ["off", "on"],
  usableLengthM: 900,
  withoutControl: ["off"],
  runOffNote: "grass, 200 m level, both sides clear",
  directionNames: ["eastbound", "westbound"],
};
const context = { freshSeed: 12, ownGates: [], seen: { "0-60 mph": { distanceM: 62.2 } } };
const gate = (name: string) => STANDARD_GATES.filter((g) => g.name === name);

/** What is thrown, as it is read in metres. */
function inMetres(make: () => unknown): void {
  try {
    make();
  } catch (error) {
    throw new Error(saidIn(KMH_AND_M, String(error)), { cause: error });
  }
}

describe("usable length", () => {
  test("stops at 0.5 g in the design's metres", () => {
    expect(Math.round(stopM(60 * MPS_PER_MPH))).toBe(73);
    expect(Math.round(stopM(100 * MPS_PER_MPH))).toBe(204);
    expect(Math.round(stopM(200 * MPS_PER_KMH))).toBe(315);
  });

  test("refuses with the sum shown: 203 m needed, 180 m given", () => {
    const check = checkUsableLength(gate("0-60 mph"), 180, context.seen);
    expect(check).toMatchObject({ neededM: 203, fits: false });
    expect(check.words).toMatch(/^203 m needed, 180 m given/);
    expect(checkUsableLength(gate("0-60 mph"), 203, context.seen).fits).toBe(true);
  });

  test("takes the gate that needs most, and the long side of what no run has shown", () => {
    const seen = { "0-60 mph": { distanceM: 62 }, "1/4 mile": { exitSpeedMps: 55 } };
    expect(checkUsableLength([...gate("0-60 mph"), ...gate("1/4 mile")], 900, seen)).toMatchObject({ gate: "1/4 mile", assumed: false });
    const unseen = checkUsableLength(gate("0-60 mph"), 900);
    expect(unseen.assumed).toBe(true);
    expect(unseen.neededM).toBeGreaterThan(203);
    expect(unseen.words).toContain("assumed until a run shows it");
    expect(checkUsableLength(gate("60-0 mph"), 900).stopM).toBeCloseTo(73.36, 2);
    expect(() => checkUsableLength([], 900)).toThrow(RangeError);
    expect(() => checkUsableLength(gate("0-60 mph"), Number.NaN)).toThrow(RangeError);
  });
});

describe("createPlan()", () => {
  test("suggests six and six in two directions, nearly drift-balanced, and stores its seed", () => {
    const plan = createPlan(checkPlanRequest(raw), context);
    expect(plan.choice).toMatchObject({ runsPerGroup: 6, directions: 2, orders: "balanced", arrangements: 380, suggested: true });
    expect(plan.request.seed).toBe(12);
    expect(plan.slots).toHaveLength(12);
    expect(plan.slots.map((slot) => slot.direction).slice(0, 3)).toEqual(["eastbound", "westbound", "eastbound"]);
    expect(createPlan(plan.request, { ...context, freshSeed: 99 })).toEqual(plan);
    expect(JSON.parse(JSON.stringify(plan))).toEqual(plan);
  });

  test.each<[string, object, RegExp]>([
    ["too short a length", { usableLengthM: 180 }, /203 m needed, 180 m given/],
    ["no note of run-off without control", { runOffNote: " " }, /Runs without traction control need a note of the run-off/],
    ["a wet day without one", { withoutControl: [], wet: true, runOffNote: "" }, /Wet runs need a note/],
    ["an unknown gate", { gates: ["0-61 mph"] }, /0-61 mph/],
    ["a group that is none", { withoutControl: ["of"] }, /"of"/],
    ["one group", { groups: ["off"] }, /two groups/],
    ["odd blocks in two directions", { orders: "blocks", runsPerGroup: 5 }, /even number/],
  ])("refuses %s", (_, more, words) => {
    const make = () => createPlan(checkPlanRequest({ ...raw, ...more }), context);
    expect(make).toThrow(PlanError);
    expect(() => inMetres(make)).toThrow(words);
  });

  test.each<[unknown, RegExp]>([
    [{ ...raw, colour: 1 }, /unknown key "colour"/],
    [{ ...raw, directions: 3 }, /"directions": expected 1 or 2, got 3/],
    [{ ...raw, usableLengthM: undefined }, /"usableLengthM": expected the usable length in metres, at most 20000, got nothing/],
    [{ ...raw, hold: { stateOfCharge: { low: 90, high: 60 } } }, /"hold.stateOfCharge": expected low below high/],
    [{ ...raw, hold: { stateOfCharge: { least: 5 } } }, /"low" and "high"/],
    [{ ...raw, seed: -1 }, /"seed"/],
    [{ ...raw, directionNames: ["east"] }, /two different names/],
    [{ ...raw, groups: "off" }, /"groups": expected a list of texts/],
    [[], /an object/],
  ])("checkPlanRequest() refuses %j", (bad, words) => {
    expect(() => checkPlanRequest(bad)).toThrow(words);
  });
});

describe("planProgress()", () => {
  const plan = createPlan(
    checkPlanRequest({ ...raw, seed: 3, hold: { stateOfCharge: { low: 60, high: 90 }, motorTemperature: { high: 70 } }, leastWaitS: 180 }),
    context,
  );
  const now = { measured: { stateOfCharge: 80, motorTemperature: 50 }, secondsSinceLastRun: null };

  test("leads through the slots in order", () => {
    const first = planProgress(plan, [], now);
    expect(first.words).toBe(`next: ${plan.slots[0]?.group}, eastbound`);
    expect(first.ready).toBe(true);
    const driven = plan.slots.map((slot, i) => ({ slot: slot.slot, run: 100 + i, spoiled: false }));
    expect(planProgress(plan, driven.slice(0, 5), now).next?.slot).toBe(5);
    const done = planProgress(plan, driven, now);
    expect(done).toMatchObject({ next: null, words: "all planned runs are in", ready: true });
    expect(asDrivenPlan(plan, driven).slots).toEqual(driven.map((slot) => slot.run));
  });

  test("a spoiled run leaves its slot open, and its repeat stands there", () => {
    const spoiled = [
      { slot: 0, run: 1, spoiled: false },
      { slot: 1, run: 2, spoiled: true },
    ];
    expect(planProgress(plan, spoiled, now).next?.slot).toBe(1);
    expect(fillSlots(12, [...spoiled, { slot: 1, run: 3, spoiled: false }]).slice(0, 3)).toEqual([1, 3, null]);
    expect(() => fillSlots(12, [{ slot: 12, run: 1, spoiled: false }])).toThrow(RangeError);
  });

  test("waits for time, charge and temperature in words, and says what is unknown without holding anyone up", () => {
    const waiting = planProgress(plan, [], { ...now, secondsSinceLastRun: 50 });
    expect(waiting.words).toContain("wait 2:10");
    expect(waiting.ready).toBe(false);
    expect(planProgress(plan, [], { ...now, secondsSinceLastRun: 0 }).words).toContain("wait 3:00");
    expect(planProgress(plan, [], { ...now, secondsSinceLastRun: 120.5 }).words).toContain("wait 1:00");
    const hot = planProgress(plan, [], { measured: { stateOfCharge: 55, motorTemperature: 71 }, secondsSinceLastRun: 400 });
    expect(hot.words).toContain("charge is 55 %, under 60");
    expect(hot.words).toContain("motor is 71 °C, over 70");
    const unknown = planProgress(plan, [], { measured: { stateOfCharge: 80 }, secondsSinceLastRun: 400 });
    expect(unknown.hold.map((state) => state.state)).toEqual(["inside", "unknown"]);
    expect(unknown.ready).toBe(true);
  });
});

describe("docs/judging-plan.md", () => {
  const text = readFileSync(fileURLToPath(new URL("../../../docs/judging-plan.md", import.meta.url)), "utf8");

  test("its example is a plan, and every key of it is explained", () => {
    const example = JSON.parse(/^ {4}\{[\s\S]*?^ {4}\}/m.exec(text)?.[0] as string) as Record<string, unknown>;
    expect(createPlan(checkPlanRequest(example), context).slots).toHaveLength(12);
    for (const key of [...Object.keys(example), "seed"]) expect(text).toContain(`| \`${key}\` |`);
  });
});
