/** What Wiring chooses for a person: the two wheels of an axle together, and no wheel whose axle is not known yet. */
import { describe, expect, test } from "vitest";
import { chosenBeforehand } from "../../src/renderer/pages/wiring/signal-list.ts";
import type { SignalView } from "../../src/shared/contract/wiring-contract.ts";
import { type RoleSuggestion, suggestRoles } from "../../src/shared/wiring/suggest-roles.ts";
import { CAR, meaninglessFile } from "../shared/dbc/meaningless-file.ts";

const views = (suggestions: readonly RoleSuggestion[]): SignalView[] =>
  suggestions.map(({ signal, invert, score, why }) => ({
    signal,
    unit: "",
    value: null,
    label: null,
    silentS: null,
    min: null,
    max: null,
    trace: [],
    suggested: { invert, score, why },
  }));
const chosen = (suggestions: readonly RoleSuggestion[], isList: boolean) =>
  chosenBeforehand(views(suggestions), isList).map(({ signal }) => signal);

describe.each([11, 22, 33, 44, 55])("file %i of 300 meaningless names", (seed) => {
  const { survey, truth } = meaninglessFile(seed);
  const suggestions = suggestRoles(survey.signals(), survey.groundSpeed(), CAR);

  test.each(["undrivenWheelSpeeds", "drivenWheelSpeeds"] as const)("%s: both wheels, and no other", (role) => {
    expect([...chosen(suggestions[role], true)].sort()).toEqual([...(truth.get(role) ?? [])].sort());
  });

  test("of a role with one signal, one", () => expect(chosen(suggestions.motorSpeed, false)).toEqual(truth.get("motorSpeed")));
});

test("driven gently only, no wheel is taken for an undriven one", () => {
  const grid = Float64Array.from({ length: 1500 }, (_, i) => 10 + 2 * Math.sin(i / 100));
  const one = (name: string, unit: string, scale: number) => ({
    decoder: { name, signal: { unit, bitLength: 16, factor: 0.01 } },
    trace: grid.map((v) => v * scale),
  });
  const rpm = ((60 / (2 * Math.PI)) * CAR.gearRatio) / CAR.rollingRadiusM;
  const { undrivenWheelSpeeds } = suggestRoles([one("Motor", "rpm", rpm), one("Front", "km/h", 3.6), one("Rear", "km/h", 3.6)], grid, CAR);
  expect(undrivenWheelSpeeds).toHaveLength(2);
  expect(chosen(undrivenWheelSpeeds, true)).toEqual([]);
});
