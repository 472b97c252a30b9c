/** Plans from files: what is left out is filled, what is wrong is named. */
import { expect, test } from "vitest";
import { defaultDayPlan } from "../../../src/shared/simulation/default-day.ts";
import { readPlan } from "../../../src/shared/simulation/read-plan.ts";

test("readPlan() fills what is left out from the demo day of the seed", () => {
  expect(readPlan({}, 4)).toEqual(defaultDayPlan(4));
  const plan = readPlan({ receiver: { rateHz: 20 }, segments: [{ kind: "launch", surface: "wet" }] }, 4);
  expect(plan.receiver).toEqual({ ...defaultDayPlan(4).receiver, rateHz: 20 });
  expect(plan.segments).toMatchObject([{ kind: "launch", surface: "wet", tractionControl: true, label: "traction control on" }]);
});

test("readPlan() takes back its own plan after a trip through a file", () => {
  const plan = defaultDayPlan(7);
  expect(readPlan(JSON.parse(JSON.stringify(plan)), 1)).toEqual(plan);
});

test.each([
  [[], "plan: expected an object"],
  [{ receivr: {} }, "expected no other keys than"],
  [{ receiver: { rateHz: 7 } }, "plan.receiver.rateHz: expected one of 1, 2, 4"],
  [{ receiver: { baud: 9600, rateHz: 10 } }, "plan.receiver.baud: expected at least 22000"],
  [{ segments: [{ kind: "gentle" }] }, "plan.segments[0].seconds: expected a value"],
  [{ segments: [{ kind: "fly" }] }, 'plan.segments[0].kind: expected one of gentle, drive, turn, stand, decoy, launch, got "fly"'],
  [{ segments: [{ kind: "decoy", what: "wheelie" }] }, "plan.segments[0].what: expected one of"],
  [{ segments: [{ kind: "launch", toKmh: null }] }, "plan.segments[0].toKmh: expected a number from 20 to 215, got null"],
  [{ segments: [{ kind: "constructor" }] }, "plan.segments[0].kind: expected one of"],
  [{ control: { slip: 2 } }, "plan.control.slip: expected a number from 0.005 to 0.6, got 2"],
  [{ control: { lateS: 0.0125 } }, "plan.control.lateS: expected whole milliseconds, in seconds, from 0 to 0.5, got 0.0125"],
  [
    { segments: [{ kind: "launch", control: { aim: 0.1 } }] },
    "plan.segments[0].control: expected no other keys than slip, everyS, lateS, strength",
  ],
  [{ startUnixS: 1.5 }, "plan.startUnixS: expected whole seconds"],
])("readPlan() refuses %j and names the place", (raw, message) => {
  expect(() => readPlan(raw, 1)).toThrow(RangeError);
  expect(() => readPlan(raw, 1)).toThrow(message);
});
