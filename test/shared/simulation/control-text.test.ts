/** A control's setting as typed: what is left out is as usual, what is wrong is named. */
import { expect, test } from "vitest";
import { controlFrom, controlNotes } from "../../../src/shared/simulation/control-text.ts";
import { DEFAULT_CONTROL } from "../../../src/shared/simulation/traction-control.ts";

test("controlFrom() reads what is given and leaves the rest as usual", () => {
  expect(controlFrom("slip=0.11, late=0.02")).toEqual({ ...DEFAULT_CONTROL, slip: 0.11, lateS: 0.02 });
  expect(controlFrom("every=0.05,strength=0.5")).toEqual({ ...DEFAULT_CONTROL, everyS: 0.05, strength: 0.5 });
});

test.each([
  ["", 'got ""'],
  ["slip", 'got "slip"'],
  ["slip=0.1=2", "Expected slip=0.11"],
  ["toString=1", 'got "toString=1"'],
  ["slip=much", "control.slip: expected a number from 0.005 to 0.6"],
  ["late=0.0005", "control.lateS: expected whole milliseconds"],
])("controlFrom(%j) refuses and names what is wrong", (text, message) => {
  expect(() => controlFrom(text)).toThrow(RangeError);
  expect(() => controlFrom(text)).toThrow(message);
});

test("controlNotes() are what a person would note with the runs", () => {
  expect(controlNotes(controlFrom("slip=0.085,every=0.01,late=0.02"))).toEqual({
    "control slip": "8.5 %",
    "control delay": "20 ms",
    "control looks": "100 a second",
    "control strength": "1",
  });
});
