/** Figures that stand beside each other add up as they are shown, no chance is shown as nothing, and none without what it was counted of. */
import fc from "fast-check";
import { afterEach, describe, expect, test } from "vitest";
import { driveView } from "../../src/renderer/pages/drive/drive-view.ts";
import { shownValue } from "../../src/renderer/pages/runs/readouts.ts";
import { createRunData } from "../../src/renderer/pages/runs/run-data.ts";
import { differenceWords } from "../../src/renderer/pages/runs/run-difference.ts";
import type { LiveEvent, RunView } from "../../src/shared/contract/contract.ts";
import { shownDifference } from "../../src/shared/draw/shown-difference.ts";
import { compare, compareGroups } from "../../src/shared/judge/compare.ts";
import { pairChanceWords } from "../../src/shared/judge/verdict.ts";
import { useUnits } from "../../src/renderer/screen/units.ts";
import { ALL_UNITS } from "../../src/shared/kernel/shown-units.ts";
import { judgedRun } from "../shared/judge/judged-run.fixture.ts";

const nm = fc.double({ min: 0, max: 400, noNaN: true });
const kmh = fc.double({ min: 0, max: 200, noNaN: true });

const oneSample = (values: Readonly<Record<string, number>>) =>
  createRunData({ run: { uid: "u", id: 1 }, gates: [], moments: [] } as unknown as RunView, {
    names: ["timeS", ...Object.keys(values)],
    units: ["s", ...Object.keys(values).map((name) => (name.endsWith("Kmh") ? "km/h" : ""))],
    columns: [0, ...Object.values(values)].map((value) => Float32Array.of(value)),
  });

afterEach(() => useUnits("km/h"));

describe.each(ALL_UNITS)("values at the cursor in $words", ({ name: chosen }) => {
  test("asked less delivered is what is shown as held back, wheel less ground what is shown as slip", () => {
    useUnits(chosen);
    fc.assert(
      fc.property(nm, nm, kmh, kmh, (torqueRequestNm, torqueDeliveredNm, wheelSpeedKmh, groundSpeedKmh) => {
        const data = oneSample({
          torqueRequestNm,
          torqueDeliveredNm,
          wheelSpeedKmh,
          groundSpeedKmh,
          slipSpeedKmh: wheelSpeedKmh - groundSpeedKmh,
        });
        const shown = (name: string) => Number(shownValue(name, data, 0).replace("\u2212", "-"));
        expect(shown("Held back")).toBe(Math.max(0, shown("Asked") - shown("Delivered")));
        expect(shown("Slip")).toBeCloseTo(shown("Wheel") - shown("Ground"), 9);
      }),
    );
    // The three figures that were seen to differ.
    const data = oneSample({ torqueRequestNm: 271.4, torqueDeliveredNm: 232.6 });
    expect(["Asked", "Delivered", "Held back"].map((name) => shownValue(name, data, 0))).toEqual(["271", "233", "38"]);
  });
});

test.each(ALL_UNITS)("on Drive the numerals of both pairs differ by what stands beside the seam, in $words", ({ name, perKmh }) => {
  useUnits(name);
  const context = { news: null, storing: false, silentS: null, simulated: false, countdownS: null, keys: { labels: "1", mark: "M" } };
  fc.assert(
    fc.property(
      nm,
      nm,
      fc.double({ min: 0, max: 9.9, noNaN: true }),
      fc.double({ min: 0, max: 60, noNaN: true }),
      (asked, delivered, ground, wheel) => {
        const live = {
          state: "launched",
          gates: [],
          nextGate: null,
          nextLabel: "",
          runsStored: 0,
          plan: null,
          gnss: { state: "fresh", words: "" },
          can: { state: "fresh", words: "" },
          tractionControlEnabled: null,
          stateOfCharge: null,
          groundSpeedMps: ground / 3.6,
          wheelSpeedMps: wheel / 3.6,
          slipSpeedMps: (wheel - ground) / 3.6,
          slipRatio: null,
          torqueRequestNm: asked,
          torqueDeliveredNm: delivered,
        } as unknown as LiveEvent;
        const { slip, held } = driveView(live, context);
        const told = (text: string) => (text === "none" ? 0 : Number(text.replace("\u2212", "-").split("\u00a0")[0]));
        expect(told(held)).toBe(Math.max(0, Math.round(asked) - Math.round(delivered)));
        expect(told(slip)).toBe(Math.round(wheel * perKmh) - Math.round(ground * perKmh) || 0);
      },
    ),
  );
});

test("a run is ahead by the difference of the two times that stand on the shelf", () => {
  const timed = (id: number, seconds: number) =>
    createRunData(
      { run: { uid: `${id}`, id }, gates: [{ gate: "0-60 mph", start: "movement", seconds }], moments: [] } as unknown as RunView,
      {
        names: ["timeS"],
        units: ["s"],
        columns: [Float32Array.of(0)],
      },
    );
  // 5.054 less 4.416 is 0.638; the shelf says 5.05 and 4.42.
  expect(differenceWords(timed(8, 4.416), timed(4, 5.054))).toBe("Run 8 is 0.63 s ahead of run 4 at 60 mph.");
});

describe("chance", () => {
  const day = (a: readonly number[], b: readonly number[], c: readonly number[] = []) => ({
    gate: "0-60 mph",
    start: "movement" as const,
    groups: ["off", "on", ...(c.length > 0 ? ["soft"] : [])],
    runs: [
      ...a.map((seconds, i) => judgedRun(i + 1, "off", seconds)),
      ...b.map((seconds, i) => judgedRun(100 + i, "on", seconds)),
      ...c.map((seconds, i) => judgedRun(200 + i, "soft", seconds)),
    ],
    plan: null,
  });
  const eight = (from: number) => Array.from({ length: 8 }, (_, i) => from + i * 0.011);

  test("is never shown as 0.000, and never without what it was counted of", () => {
    const { pairs } = compareGroups(day(eight(5), eight(4.4), eight(4)));
    for (const pair of pairs) {
      const words = pairChanceWords(pair);
      expect(words).toMatch(/\d of [\d\u00a0]+ orders/);
      for (const text of [words, pair.verdict]) expect(text).not.toMatch(/\bp 0\.000|[^.\d]0\.000\b/);
    }
  });

  test("an interval that covers nothing is none: no ends, no share of 0 %, no gain drawn", () => {
    const pair = compare(day([5.02], [4.45]));
    expect(pair.verdict).not.toMatch(/0\.57 to 0\.57|\(0 %\)/);
    expect(pair.verdict).toContain("0.57 s quicker");
    expect(pair.warnings.join("\n")).not.toContain("covers 0 %");
    expect(shownDifference(pair, false)).toBeNull();
    // Why so few can never show anything is said with its count: any of two orders differs as much.
    expect(pair.verdict).toMatch(/2 of 2 orders/);
  });
});
