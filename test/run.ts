/**
 * The test command: house checks, then unit and browser tests side by side, as the browser's spend most of their time waiting for a car. Every
 * step runs even when one fails, and the last line sums them up as `N passed, N failed, N skipped`. Exit 1 when anything failed.
 */
import { type ChildProcess, spawn, spawnSync } from "node:child_process";
import { createWriteStream, existsSync, mkdirSync, readFileSync, rmSync } from "node:fs";
import { once } from "node:events";

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

interface Running {
  readonly title: string;
  readonly config: string;
  readonly child: ChildProcess;
  readonly log: string;
  /** Vitest's own counts. */
  readonly report: string;
}

/** Its words go to a file, so that two suites never speak at once. */
function startVitest(title: string, config: string): Running {
  const [report, log] = [`${OUTPUT}/${title}.json`, `${OUTPUT}/${title}.log`];
  rmSync(report, { force: true });
  const args = ["run", "--config", config, "--reporter=default", "--reporter=json", `--outputFile.json=${report}`];
  const child = spawn("vitest", args, { stdio: ["ignore", "pipe", "pipe"] });
  const file = createWriteStream(log);
  for (const stream of [child.stdout, child.stderr]) stream?.pipe(file, { end: false });
  return { title, config, child, log, report };
}

/** Waits for its end and tells it. A run that left no counts is one failure, never none. */
async function tallyOf({ title, config, child, log, report }: Running): Promise<Tally> {
  const [status] = (await once(child, "close")) as [number | null];
  console.log(`\n== ${title}: vitest run --config ${config}\n${readFileSync(log, "utf8")}`);
  if (!existsSync(report)) {
    console.log(`${title} left no report: counted as one failure`);
    return { passed: 0, failed: 1, skipped: 0 };
  }
  const json = JSON.parse(readFileSync(report, "utf8"));
  const skipped = json.numPendingTests + json.numTodoTests;
  // A file that fails to load holds no failed test, yet fails the run.
  const failed = Math.max(json.numFailedTests, json.numFailedTestSuites > 0 ? 1 : 0, status === 0 ? 0 : 1);
  if (json.numPassedTests === 0 && failed === 0) {
    console.log(`${title} ran no test: counted as one failure`);
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
const checks = [
  runCheck("types", "tsc", ["-b"]),
  runCheck("lint", "npm", ["run", "--silent", "lint"]),
  runCheck("dead code", "knip", []),
  runCheck("build", "npm", ["run", "--silent", "build"]),
];
const suites = [startVitest("browser", "test/e2e/vitest.config.ts"), startVitest("unit", "test/vitest.config.ts")];
const tallies = [...checks, ...(await Promise.all(suites.map(tallyOf)))];
const total = tallies.reduce((sum, t) => ({
  passed: sum.passed + t.passed,
  failed: sum.failed + t.failed,
  skipped: sum.skipped + t.skipped,
}));
console.log(`\n${total.passed} passed, ${total.failed} failed, ${total.skipped} skipped`);
process.exit(total.failed === 0 ? 0 : 1);
