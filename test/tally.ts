/** The counts of a test run, from the report that vitest leaves (its JSON reporter's shape) and the errors outside every test. */

export interface Tally {
  readonly passed: number;
  readonly failed: number;
  readonly skipped: number;
}

export interface FileReport {
  /** Path of the test file. */
  readonly name: string;
  readonly status: string;
  readonly assertionResults: readonly { readonly fullName: string; readonly status: string }[];
}

export interface RunReport {
  readonly numPassedTests: number;
  readonly numFailedTests: number;
  readonly numPendingTests: number;
  readonly numTodoTests: number;
  readonly testResults: readonly FileReport[];
  /** Path of the test file of each error outside every test; "" where it is not known. */
  readonly strayErrors: readonly string[];
}

/** A file that fails to load holds no failed test, yet fails the run; so does a run without a test. */
export function tallyOf(report: RunReport): Tally {
  const notLoaded = report.testResults.filter((file) => file.status === "failed" && testsThat(file, "failed").length === 0);
  const failed = report.numFailedTests + notLoaded.length + report.strayErrors.length;
  const nothingRan = report.numPassedTests === 0 && failed === 0;
  return { passed: report.numPassedTests, failed: nothingRan ? 1 : failed, skipped: report.numPendingTests + report.numTodoTests };
}

/** Null where an error belongs to no file: then no second run of some files can tell more. */
export function filesToTryAgain({ testResults, strayErrors }: RunReport): FileReport[] | null {
  const found = testResults.filter(({ name, status }) => status === "failed" || strayErrors.includes(name));
  return strayErrors.every((path) => found.some(({ name }) => name === path)) ? found : null;
}

export const testsThat = ({ assertionResults }: FileReport, status: string): string[] =>
  assertionResults.filter((test) => test.status === status).map(({ fullName }) => fullName);

/** The whole run's counts once `again` of its files ran a second time: these count as the second run found them, all others as the first. */
export function withSecondTry(first: RunReport, again: readonly FileReport[], second: RunReport): Tally {
  const before = (status: string) => again.flatMap((file) => testsThat(file, status)).length;
  const skippedBefore = again.flatMap(({ assertionResults }) => assertionResults).length - before("passed") - before("failed");
  const [whole, now] = [tallyOf(first), tallyOf(second)];
  return {
    passed: whole.passed - before("passed") + now.passed,
    failed: now.failed,
    skipped: whole.skipped - skippedBefore + now.skipped,
  };
}
