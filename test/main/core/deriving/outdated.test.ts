/**
 * Runs that an earlier Gripbook derived are named when a book is opened, and no others. They lack DerivedRun.slopeSigns; no published
 * source.
 */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { openBook } from "../../../../src/main/open-book.ts";
import { addTimedRuns } from "../../../support/timed-book.ts";

const folder = mkdtempSync(join(tmpdir(), "gripbook-outdated-"));
const file = join(folder, "day.gripbook");
beforeAll(() => {
  addTimedRuns(file, [
    { label: "off", seconds: 5 },
    { label: "off", seconds: 5.1 },
  ]);
});
afterAll(() => rmSync(folder, { recursive: true }));

test("a book says how many of its runs are of an earlier version and how to bring them up, until they are", () => {
  const { book, old } = openBook({ file, create: false });
  expect(old).toBeNull();
  const run = book.run(1);
  const { samples, roleUnits } = book.samples(1);
  const write = { ...run, samples, roleUnits };
  const { slopeSigns: _, ...earlier } = run.figures;
  book.replaceRun(1, { ...write, figures: earlier });
  book.close();
  const again = openBook({ file, create: false });
  expect(again.old).toBe(`1 run was derived by an earlier Gripbook: \`gripbook rederive --book ${file}\` once brings it up to this one`);
  // A run that is not final yet is derived anyway.
  again.book.replaceRun(1, { ...write, final: false, figures: earlier });
  again.book.close();
  const last = openBook({ file, create: false });
  expect(last.old).toBeNull();
  last.book.close();
});
