/**
 * The test command: house checks, the build of the screens, then every test file. Every step runs even when one fails, and the last line sums them up as `N passed, N failed, N skipped`. Exit 1 when anything failed.
 */
import { spawnSync } from "node:child_process";
import { existsSync, mkdirSync, readFileSync, rmSync } from "node:fs";
import { relative } from "node:path";
import { type FileReport, filesToTryAgain, type RunReport, type Tally, tallyOf, testsThat, withSecondTry } from "./tally.ts";

const OUTPUT = "test-output";
/** More failed files than this are no matter of a busy machine. */
const MOST_TRIED_AGAIN = 3;

/** A house check passes or fails as one test. */
function runCheck(title: string, command: string, args: readonly string[]): Tally {
  console.log(`\n== ${title}: ${command} ${args.join(" ")}`);
  const result = spawnSync(command, args, { stdio: "inherit" });
  const ok = result.status === 0;
  if (!ok) console.log(`${title} failed${result.error ? `: ${result.error.message}` : ` with exit code ${result.status}`}`);
  return { passed: ok ? 1 : 0, failed: ok ? 0 : 1, skipped: 0 };
}

/** Runs the test files named, all where none is; null where the run left no report or failed by something that is not in it. */
function vitest(name: string, more: readonly string[]): RunReport | null {
  const [report, strays] = [`${OUTPUT}/${name}.json`, `${OUTPUT}/${name}-stray-errors.json`];
  for (const file of [report, strays]) rmSync(file, { force: true });
  const reporters = ["--reporter=default", "--reporter=json", `--outputFile.json=${report}`, "--reporter=./test/stray-errors.ts"];
  const args = ["run", "--config", "test/vitest.config.ts", ...reporters, ...more];
  console.log(`\n== tests: vitest ${args.join(" ")}`);
  const { status } = spawnSync("vitest", args, { stdio: "inherit", env: { ...process.env, GRIPBOOK_STRAY_ERRORS: strays } });
  if (!existsSync(report) || !existsSync(strays)) return null;
  const run: RunReport = { ...JSON.parse(readFileSync(report, "utf8")), strayErrors: JSON.parse(readFileSync(strays, "utf8")) };
  return status === 0 || tallyOf(run).failed > 0 ? run : null;
}

function nameSkipped({ testResults }: RunReport): void {
  for (const { assertionResults } of testResults) {
    for (const { status, fullName } of assertionResults) {
      if (status !== "passed" && status !== "failed") console.log(`skipped: ${fullName}`);
    }
  }
}

/** Runs every test file. Where at most three failed, these run once more, one after the other: a test that only a crowded machine fails is told from a broken one, and is named. A run that left no counts is one failure, never none. */
function runTests(): Tally {
  const first = vitest("tests", []);
  if (first === null) {
    console.log("The tests left no counts, or failed outside of them: counted as one failure");
    return { passed: 0, failed: 1, skipped: 0 };
  }
  nameSkipped(first);
  const again = filesToTryAgain(first);
  if (again === null || again.length === 0 || again.length > MOST_TRIED_AGAIN) return tallyOf(first);
  const second = vitest("second-try", ["--maxWorkers=1", ...again.map(({ name }) => relative(".", name))]);
  if (second === null) return tallyOf(first);
  nameTriedAgain(again, second);
  return withSecondTry(first, again, second);
}

function nameTriedAgain(again: readonly FileReport[], second: RunReport): void {
  for (const file of again) {
    const failed = testsThat(file, "failed");
    // A file that did not load, or an error outside its tests.
    const names = failed.length === 0 ? [relative(".", file.name)] : failed;
    const now = second.testResults.find(({ name }) => name === file.name);
    const isWhole = now?.status === "passed" && !second.strayErrors.includes(file.name);
    for (const name of names) console.log(`${isWhole ? "FAILED FIRST, PASSED ALONE" : "FAILED TWICE"}: ${name}`);
  }
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
