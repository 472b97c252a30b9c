/** The gates' numbers against exact definitions: mile 1,609.344 m, foot 0.3048 m (docs/check-values.md, kinematics, kinematics.json). */
import { expect, test } from "vitest";
import { STANDARD_GATES } from "../../../src/shared/launch/gate.ts";

const gate = (name: string) => STANDARD_GATES.find((one) => one.name === name);

test("STANDARD_GATES hold the exact speeds and distances", () => {
  expect(gate("0-30 mph")).toMatchObject({ toMps: expect.closeTo(13.4112, 12) });
  expect(gate("0-60 mph")).toMatchObject({ toMps: expect.closeTo(26.8224, 12) });
  expect(gate("0-100 mph")).toMatchObject({ toMps: expect.closeTo(44.704, 12) });
  expect(gate("0-100 km/h")).toMatchObject({ toMps: expect.closeTo(250 / 9, 12) });
  expect(gate("0-200 km/h")).toMatchObject({ toMps: expect.closeTo(500 / 9, 12) });
  expect(gate("60 ft")).toMatchObject({ distanceM: expect.closeTo(18.288, 12) });
  expect(gate("1/8 mile")).toMatchObject({ distanceM: 201.168 });
  expect(gate("1/4 mile")).toMatchObject({ distanceM: 402.336 });
  expect(gate("60-0 mph")).toMatchObject({ kind: "stop", fromMps: expect.closeTo(26.8224, 12) });
});
