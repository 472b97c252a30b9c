/**
 * The test command: house checks, the build of the screens, then every test file. Every step runs even when one fails, and the last line sums them up as `N passed, N failed, N skipped`. Exit 1 when anything failed.
 */
import { spawnSync } from "node:child_process";
import { existsSync, mkdirSync, readFileSync, rmSync } from "node:fs";

interface Tally {
  passed: number;
  failed: number;
  skipped: number;
}

const OUTPUT = "test-output";

/** A house check passes or fails as one test. */
function runCheck(title: string, command: string, args: readonly string[]): Tally {
  console.log(`\n== ${title}: ${command} ${args.join(" ")}`);
  const result = spawnSync(command, args, { stdio: "inherit" });
  const ok = result.status === 0;
  if (!ok) console.log(`${title} failed${result.error ? `: ${result.error.message}` : ` with exit code ${result.status}`}`);
  return { passed: ok ? 1 : 0, failed: ok ? 0 : 1, skipped: 0 };
}

/** Runs every test file. A run that left no counts is one failure, never none. */
function runTests(): Tally {
  const report = `${OUTPUT}/tests.json`;
  rmSync(report, { force: true });
  const args = ["run", "--config", "test/vitest.config.ts", "--reporter=default", "--reporter=json", `--outputFile.json=${report}`];
  console.log(`\n== tests: vitest ${args.join(" ")}`);
  const { status } = spawnSync("vitest", args, { stdio: "inherit" });
  if (!existsSync(report)) {
    console.log("The tests left no report: counted as one failure");
    return { passed: 0, failed: 1, skipped: 0 };
  }
  const json = JSON.parse(readFileSync(report, "utf8"));
  const skipped = json.numPendingTests + json.numTodoTests;
  // A file that fails to load holds no failed test, yet fails the run.
  const failed = Math.max(json.numFailedTests, json.numFailedTestSuites > 0 ? 1 : 0, status === 0 ? 0 : 1);
  if (json.numPassedTests === 0 && failed === 0) {
    console.log("No test ran: counted as one failure");
    return { passed: 0, failed: 1, skipped };
  }
  for (const suite of json.testResults) {
    for (const test of suite.assertionResults) {
      if (test.status !== "passed" && test.status !== "failed") console.log(`skipped: ${test.fullName}`);
    }
  }
  return { passed: json.numPassedTests, failed, skipped };
}

mkdirSync(OUTPUT, { recursive: true });
const tallies = [
  runCheck("types", "tsc", ["-b"]),
  runCheck("lint", "npm", ["run", "--silent", "lint"]),
  runCheck("dead code", "knip", []),
  runCheck("build", "npm", ["run", "--silent", "build"]),
  runTests(),
];
const total = tallies.reduce((sum, t) => ({
  passed: sum.passed + t.passed,
  failed: sum.failed + t.failed,
  skipped: sum.skipped + t.skipped,
}));
console.log(`\n${total.passed} passed, ${total.failed} failed, ${total.skipped} skipped`);
process.exit(total.failed === 0 ? 0 : 1);
