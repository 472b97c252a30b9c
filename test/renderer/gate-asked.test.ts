/** A gate as it is typed: its name by itself, the units it is asked with, and the sentence that says what it will be. Wording is ours; no published source. */
import { expect, test } from "vitest";
import { gateAsked, gateAskedWords } from "../../src/renderer/pages/plan/gate-asked.ts";

test.each([
  [["0", "km/h", "80", "km/h"], "0-80 km/h", "Timed from standing to 80 km/h."],
  [["20", "km/h", "80,5", "km/h"], "20-80.5 km/h", "Timed while rolling, 20 km/h to 80.5 km/h."],
  [["10", "m/s", "60", "mph"], "10 m/s to 60 mph", "Timed while rolling, 10 m/s to 60 mph."],
  [["", "km/h", "100", "m"], "100 m", "Timed from standing over 100 m."],
  [["80", "km/h", "0", "km/h"], "80-0 km/h", "Timed from 80 km/h to a stop."],
  [["0", "km/h", "20", "m/s"], "0-20 m/s", "Timed from standing to 20 m/s."],
] as const)("%j is %s", ([from, fromUnit, to, toUnit], name, words) => {
  const asked = gateAsked({ from, fromUnit, to, toUnit, name: " " });
  expect(asked.name).toBe(name);
  expect(gateAskedWords(asked)).toBe(words);
});

test("a name that is typed stands; an end that is missing or no number is described, and asked as it stands", () => {
  expect(gateAsked({ from: "0", fromUnit: "km/h", to: "80", toUnit: "km/h", name: " town " }).name).toBe("town");
  const open = gateAsked({ from: "0", fromUnit: "km/h", to: "", toUnit: "km/h", name: "" });
  expect(gateAskedWords(open)).toMatch(/^From 0 is a standing start/);
  for (const [from, to] of [
    ["-5", "80"],
    ["abc", "80"],
    ["20", "-1"],
    ["20", "20"],
  ] as const)
    expect(gateAskedWords(gateAsked({ from, fromUnit: "km/h", to, toUnit: "km/h", name: "" }))).toMatch(/^From 0 is a standing start/);
  expect(gateAsked({ from: "0", fromUnit: "km/h", to: "fast", toUnit: "mph", name: "" }).to).toBe("fast mph");
});
