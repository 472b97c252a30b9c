/** The counts of a run whose failed files ran again. The report's shape is that of vitest's JSON reporter (vitest.dev, "Reporters"). */
import { expect, test } from "vitest";
import { filesToTryAgain, type RunReport, tallyOf, withSecondTry } from "./tally.ts";

function report(
  files: Readonly<Record<string, readonly ("passed" | "failed" | "pending")[]>>,
  strayErrors: readonly string[] = [],
): RunReport {
  const testResults = Object.entries(files).map(([name, tests]) => ({
    name,
    status: tests.length === 0 || tests.includes("failed") ? "failed" : "passed",
    assertionResults: tests.map((status, place) => ({
      fullName: `${name} ${place}`,
      status,
    })),
  }));
  const all = Object.values(files).flat();
  const count = (status: string) => all.filter((each) => each === status).length;
  return {
    numPassedTests: count("passed"),
    numFailedTests: count("failed"),
    numPendingTests: count("pending"),
    numTodoTests: 0,
    strayErrors,
    testResults,
  };
}

const FIRST = report({
  a: ["passed", "failed", "pending"],
  b: ["passed", "passed"],
  c: [],
});

const AGAIN = filesToTryAgain(FIRST) ?? [];

test("a failed file counts as its second run found it, the others as the first", () => {
  expect(AGAIN.map(({ name }) => name)).toEqual(["a", "c"]);
  const mended = report({ a: ["passed", "passed", "pending"], c: ["passed"] });
  expect(withSecondTry(FIRST, AGAIN, mended)).toEqual({ passed: 5, failed: 0, skipped: 1 });
  const half = report({ a: ["passed", "failed", "pending"], c: ["passed"] });
  expect(withSecondTry(FIRST, AGAIN, half)).toEqual({ passed: 4, failed: 1, skipped: 1 });
  expect(withSecondTry(FIRST, AGAIN, report({ a: ["passed", "passed", "pending"], c: ["passed"] }, ["c"])).failed).toBe(1);
});

test("a run fails by a file that did not load, by an error outside its tests, and by holding no test", () => {
  expect(tallyOf(FIRST)).toEqual({ passed: 3, failed: 2, skipped: 1 });
  expect(tallyOf(report({ a: ["passed"], c: [] })).failed).toBe(1);
  expect(tallyOf(report({ a: ["passed"] }, ["a"])).failed).toBe(1);
  expect(tallyOf(report({ a: ["pending"] })).failed).toBe(1);
  expect(tallyOf(report({ a: ["passed", "pending"] }))).toEqual({ passed: 1, failed: 0, skipped: 1 });
});

test("a file with an error outside its tests runs again; an error of no file leaves nothing to run again", () => {
  expect(filesToTryAgain(report({ a: ["passed"], b: ["passed"] }, ["b", "b"]))?.map(({ name }) => name)).toEqual(["b"]);
  expect(filesToTryAgain(report({ a: ["failed"] }, [""]))).toBeNull();
});
