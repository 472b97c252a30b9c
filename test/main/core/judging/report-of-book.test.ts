/** The report's list of changes, as a reader meets it: a flag stands there in its words, not by the name that the book keeps. */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import { reportOf } from "../../../../src/main/core/judging/report-of-book.ts";
import { MOST_WHOLE } from "../../../../src/shared/report/shown-runs.ts";
import { addTimedRuns, WORKED_EXAMPLE } from "../../../support/timed-book.ts";

let folder = "";
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-report-"));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

test("an overruled flag is told in its words", async () => {
  const file = join(folder, "day.gripbook");
  addTimedRuns(file, WORKED_EXAMPLE);
  const book = openSqliteBook({ file, create: false });
  try {
    book.setOverruled(1, "slowReceiver", "checked against the other receiver", 2);
    const { html } = await reportOf(book, { softwareVersion: "0", utcUs: 3 });
    expect(html).toContain("overruled slow receiver");
    expect(html).not.toContain("slowReceiver");
  } finally {
    book.close();
  }
});

test("a season of which no run is used is reported, without advice", async () => {
  const file = join(folder, "season.gripbook");
  const ids = addTimedRuns(
    file,
    Array.from({ length: MOST_WHOLE + 1 }, (_, i) => ({ label: "off", seconds: 4.3 + 0.01 * i })),
  );
  const book = openSqliteBook({ file, create: false });
  try {
    for (const id of ids) book.setReview(id, { use: false, note: "wind" }, 2);
    const { html } = await reportOf(book, { softwareVersion: "0", utcUs: 3 });
    expect(html).toContain("wind");
  } finally {
    book.close();
  }
});
