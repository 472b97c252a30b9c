/** In three files of 300 meaningless names the true signal ranks first for at least five of seven roles. */
import { describe, expect, test } from "vitest";
import { checkRole } from "../../../src/shared/signals/check-role.ts";
import { SUGGESTED_ROLES, suggestRoles } from "../../../src/shared/wiring/suggest-roles.ts";
import { conversionOf } from "../../../src/shared/signals/signal-units.ts";
import { CAR, meaninglessFile } from "../dbc/meaningless-file.ts";

/** The seven: the two kinds of wheel count as one. */
const SEVEN = [
  "motorSpeed",
  "torqueRequest",
  "torqueDelivered",
  "pedal",
  "stateOfCharge",
  "drivenWheelSpeeds",
  "tractionControlActive",
] as const;

test("wheels driven gently, which show no slip yet, are suggested with what is known and what is not", () => {
  const grid = Float64Array.from({ length: 1500 }, (_, i) => 10 + 2 * Math.sin(i / 100));
  const one = (name: string, unit: string, scale: number) => ({
    decoder: { name, signal: { unit, bitLength: 16, factor: 0.01 } },
    trace: grid.map((v) => v * scale),
  });
  const signals = [
    one("Motor", "rpm", ((60 / (2 * Math.PI)) * CAR.gearRatio) / CAR.rollingRadiusM),
    one("Front", "km/h", 3.6),
    one("Rear", "km/h", 3.6),
  ];
  const { undrivenWheelSpeeds, drivenWheelSpeeds } = suggestRoles(signals, grid, CAR);
  for (const suggestions of [undrivenWheelSpeeds, drivenWheelSpeeds]) {
    expect(suggestions.map(({ signal }) => signal).sort()).toEqual(["Front", "Rear"]);
    for (const { why } of suggestions)
      expect(why).toMatch(/^1\.000 times ground speed, correlation 1\.000; driven or not shows when accelerating hard$/);
  }
});

describe.each([11, 22, 33])("file %i of 300 meaningless names", (seed) => {
  const { survey, truth, motorReversed } = meaninglessFile(seed);
  const signals = survey.signals();
  const suggestions = suggestRoles(signals, survey.groundSpeed(), CAR);

  test("suggestRoles() ranks the true signal first for at least five of seven roles", () => {
    expect(signals).toHaveLength(300);
    const first = SEVEN.filter((role) => truth.get(role)?.includes(suggestions[role][0]?.signal ?? ""));
    const missed = SEVEN.filter((role) => !first.includes(role)).map(
      (role) => `${role}: wanted ${truth.get(role)}, got ${JSON.stringify(suggestions[role].slice(0, 2))}`,
    );
    expect(first.length, missed.join("\n")).toBeGreaterThanOrEqual(5);
    for (const role of SUGGESTED_ROLES) for (const { score } of suggestions[role]) expect(score).toBeLessThanOrEqual(1);
  });

  const traceOf = (role: string) => {
    const found = signals.find(({ decoder }) => decoder.name === truth.get(role)?.[0]);
    if (found === undefined) throw new Error(`no ${role}`);
    const unit = conversionOf(found.decoder.signal.unit);
    const sign = role === "motorSpeed" && motorReversed ? -1 : 1;
    return Float64Array.from(found.trace, (value) => sign * value * (unit?.scale ?? 1));
  };
  const ground = survey.groundSpeed();

  test("checkRole() takes the true signals", () => {
    for (const role of ["motorSpeed", "torqueRequest", "torqueDelivered", "pedal"] as const)
      expect(checkRole(role, traceOf(role), "", ground, CAR), role).toMatchObject({ verdict: "fits" });
    expect(checkRole("undrivenWheelSpeeds", traceOf("undrivenWheelSpeeds"), "m/s", ground, CAR)).toMatchObject({ verdict: "fits" });
    expect(suggestions.motorSpeed[0].invert).toBe(motorReversed);
  });

  test("checkRole() refuses a reversed sign and a wrong ratio, with the reason", () => {
    const reversed = (role: string) => traceOf(role).map((value) => -value);
    expect(checkRole("motorSpeed", reversed("motorSpeed"), "", ground, CAR)).toMatchObject({
      verdict: "refused",
      why: expect.stringContaining("sign is reversed"),
    });
    expect(checkRole("torqueDelivered", reversed("torqueDelivered"), "", ground, CAR)).toMatchObject({
      verdict: "refused",
      why: expect.stringContaining("sign is reversed"),
    });
    expect(checkRole("motorSpeed", traceOf("motorSpeed"), "", ground, { ...CAR, gearRatio: 8.1 })).toMatchObject({
      verdict: "refused",
      why: expect.stringContaining("gear ratio 8.1"),
    });
    expect(
      checkRole(
        "torqueRequest",
        traceOf("torqueRequest").map((value) => value * CAR.gearRatio),
        "",
        ground,
        CAR,
      ),
    ).toMatchObject({ verdict: "refused", why: expect.stringContaining("at the wheels") });
    expect(checkRole("motorSpeed", traceOf("torqueRequest"), "", ground, CAR)).toMatchObject({
      verdict: "refused",
      why: expect.stringContaining("does not follow ground speed"),
    });
  });

  test("checkRole() does not guess without driving", () => {
    const parked = new Float32Array(400);
    expect(checkRole("motorSpeed", parked, "", parked, CAR).verdict).toBe("cannot tell yet");
    expect(checkRole("torqueRequest", parked, "", parked, CAR).verdict).toBe("cannot tell yet");
  });
});
