/** Errors outside every test, which vitest's JSON reporter leaves out: one path of a test file each, "" where vitest does not know it, into the file that `GRIPBOOK_STRAY_ERRORS` names. */
import { writeFileSync } from "node:fs";
import type { Reporter } from "vitest/node";

export default class StrayErrors implements Reporter {
  onTestRunEnd(...[, errors]: Parameters<NonNullable<Reporter["onTestRunEnd"]>>): void {
    const file = process.env.GRIPBOOK_STRAY_ERRORS;
    if (file !== undefined) writeFileSync(file, JSON.stringify(errors.map((error) => String(error.VITEST_TEST_PATH ?? ""))));
  }
}
