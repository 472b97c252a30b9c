/**
 * Roles checked on a car without any fault, from whatever moment the page was opened: none may be refused. Truth: the simulated car's own
 * set-up.
 */
import { describe, expect, test } from "vitest";
import { createWiringTap } from "../../../src/shared/wiring/wiring-tap.ts";
import { checkRole } from "../../../src/shared/signals/check-role.ts";
import { parseDbc } from "../../../src/shared/dbc/dbc-file.ts";
import { SURVEY_STEP_S } from "../../../src/shared/signals/signal-survey.ts";
import { conversionOf } from "../../../src/shared/signals/signal-units.ts";
import { carSignalFile } from "../../../src/shared/simulation/car-files.ts";
import { createLiveCar } from "../../../src/shared/simulation/live-car.ts";

const CAR = { gearRatio: 9.04, rollingRadiusM: 0.3234, massKg: 1480 };

/** What a page opened at `fromS` has received after this many seconds. */
function heard(fromS: number, seconds: number) {
  const tap = createWiringTap([parseDbc("car.dbc", carSignalFile())]);
  const car = createLiveCar({ seed: 22, driveSeed: 2 });
  for (const { stream, arrivalUs, bytes } of car.advance((fromS + seconds) * 1e6))
    if (arrivalUs > fromS * 1e6) tap.push({ stream, arrivalNs: arrivalUs * 1000, bytes }, null);
  const ground = tap.survey.groundSpeed();
  return (role: "torqueDelivered" | "motorSpeed", name: string) => {
    const found = tap.survey.signals().find(({ decoder }) => decoder.name.endsWith(name));
    const scale = conversionOf(found?.decoder.signal.unit ?? "")?.scale ?? 1;
    return checkRole(
      role,
      Float64Array.from(found?.trace ?? [], (value) => value * scale),
      "",
      ground,
      CAR,
    );
  };
}

describe("checkRole()", () => {
  // The data are filled by a launch and a hard stop: the brakes' deceleration is not the motor's.
  test.each([12, 21])("does not call torque's ratio wrong %i s into a launch and its stop", (seconds) => {
    expect(heard(270, seconds)("torqueDelivered", "TorqueDelivered").verdict).not.toBe("refused");
  });

  test("at one steady speed does not say that a right motor speed fails to follow", () => {
    expect(heard(210, 12)("motorSpeed", "MotorSpeed")).toMatchObject({
      verdict: "cannot tell yet",
      why: expect.stringContaining("slower and faster"),
    });
  });

  test("still refuses another's ratio and what follows nothing, with hard stops in it", () => {
    const steps = Math.round(60 / SURVEY_STEP_S);
    const speed = Float64Array.from({ length: steps }, (_, k) => Math.max(0, 15 - 15 * Math.cos((2 * Math.PI * k) / 300)));
    const needed = speed.map(
      (_, k) => (((speed[k + 1] ?? 0) - (speed[k - 1] ?? 0)) / (2 * SURVEY_STEP_S)) * ((CAR.massKg * CAR.rollingRadiusM) / CAR.gearRatio),
    );
    const motor = needed.map((nm) => Math.max(nm, -60));
    const of = (values: Float64Array) => checkRole("torqueDelivered", values, "", speed, CAR);
    expect(of(motor).verdict).toBe("fits");
    expect(of(motor.map((nm) => nm * CAR.gearRatio))).toMatchObject({ verdict: "refused", reason: "ratio" });
    expect(of(motor.map((nm) => -nm))).toMatchObject({ verdict: "refused", reason: "reversed" });
  });
});
