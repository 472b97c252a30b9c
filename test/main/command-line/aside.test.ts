/** What is set aside says so in `show` too, with its reason, and `happened` names the flags that every list shows. */
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { gripbook } from "../../support/run-gripbook.ts";
import { addTimedRuns } from "../../support/timed-book.ts";

const folder = mkdtempSync(join(tmpdir(), "gripbook-aside-"));
const book = join(folder, "day.gripbook");
beforeAll(() => {
  addTimedRuns(book, [
    { label: "off", seconds: 5 },
    { label: "off", seconds: 5.1 },
  ]);
});
afterAll(() => rmSync(folder, { recursive: true }));

test("show says that a run is set aside, and why; a run in use has its note", async () => {
  await gripbook("review", "1", "--book", book, "--use", "no", "--note", "missed the pedal");
  await gripbook("review", "2", "--book", book, "--use", "yes", "--note", "gust");
  expect((await gripbook("show", "1", "--book", book)).out).toContain("\n  Set aside: missed the pedal\n");
  expect((await gripbook("show", "2", "--book", book)).out).toContain("\n  Note: gust\n");
});

test("happened names the flags that runs have only beside other runs", async () => {
  const out = join(folder, "happened.txt");
  expect((await gripbook("happened", "--book", book, "--out", out)).code).toBe(0);
  expect(readFileSync(out, "utf8")).toMatch(/Run 2 of recording 1: .*no return run/);
});
