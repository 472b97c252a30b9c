/** What a control did in words: unknown values are left out of the sentence and are a dash in the table, never a 0. */
import { expect, test } from "vitest";
import { controlSentence, INTERVENTION_HEADS, interventionRows } from "../../../src/shared/tune/control-words.ts";
import { unseenControl } from "../../../src/shared/tune/group-control.ts";
import type { Intervention } from "../../../src/shared/tune/interventions.ts";
import { KMH_AND_M } from "../../../src/shared/kernel/shown-units.ts";

const NOTHING = unseenControl();
const ONE: Intervention = {
  fromS: 10.13,
  toS: 12,
  fromRow: 0,
  toRow: 100,
  speedMps: 5,
  slipMps: 1,
  levelMps: null,
  passedS: null,
  answersAfterS: null,
  deepestNm: 84,
  deepestShare: 0.2,
  peakSlipMps: 2,
  overshoot: null,
  settlesAfterS: null,
  oscillationHz: null,
  damping: null,
  costS: null,
};

test("controlSentence() tells what was seen and nothing else", () => {
  expect(controlSentence(NOTHING)).toBeNull();
  const seen = {
    ...NOTHING,
    holdsSlipAt: { value: 0.086, plusMinus95: 0.001 },
    seenEveryS: { value: 0.05, plusMinus95: 0.005, atBus: false },
  };
  expect(controlSentence(seen)?.replaceAll("\u00a0", " ")).toBe("Control: holds 8.6 ± 0.1 % slip, looks every 50 ± 5 ms.");
  const fast = { ...NOTHING, seenEveryS: { value: 0.01, plusMinus95: 0.005, atBus: true } };
  expect(controlSentence(fast)).toContain("with every frame of the bus, or more often");
});

test("interventionRows() has a cell for each head, and a dash for what is unknown", () => {
  const [row = []] = interventionRows([ONE], 10, KMH_AND_M);
  expect(row).toHaveLength(INTERVENTION_HEADS.length);
  expect(row.map((cell) => cell.replaceAll("\u00a0", " "))).toEqual([
    "1",
    "0.13 s",
    "18 km/h",
    "–",
    "–",
    "84 Nm (20 %)",
    "7.2 km/h",
    "–",
    "–",
    "–",
  ]);
});
