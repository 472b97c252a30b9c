/** Notes and marks made while driving reach people: show, its JSON, a run's CSV, and the report. CSV by RFC 4180. */
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { gripbook } from "../../support/run-gripbook.ts";
import { addTimedRuns } from "../../support/timed-book.ts";

let folder = "";
const at = (name: string) => join(folder, name);
const BOOK = () => ["--book", at("day.gripbook")];

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-moments-"));
  addTimedRuns(at("day.gripbook"), [
    {
      label: "off",
      seconds: 5,
      noted: [
        { atS: -30, text: "damp patch, at the start" },
        { atS: 2.5, text: "" },
        { atS: 3.25, text: "=hop" },
      ],
    },
    { label: "on", seconds: 4.5 },
  ]);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

test("show tells each with its time, in words and as JSON", async () => {
  const words = (await gripbook("show", "1", ...BOOK())).out;
  expect(words).toContain("Note 30.00 s before the start: damp patch, at the start");
  expect(words).toContain("Marked at 2.50 s");
  expect(words).toContain("Note at 3.25 s: =hop");
  const [first, second] = JSON.parse((await gripbook("show", "all", "--json", ...BOOK())).out) as { moments: unknown[] }[];
  expect(first?.moments).toEqual([
    { atS: -30, text: "damp patch, at the start" },
    { atS: 2.5, text: "" },
    { atS: 3.25, text: "=hop" },
  ]);
  expect(second?.moments).toEqual([]);
});

test("a run's CSV has them in a column of their own, at their times; what lies outside of its rows keeps its time in words", async () => {
  await gripbook("export", "1", ...BOOK(), "--as", "csv", "--out", at("run.csv"));
  const lines = readFileSync(at("run.csv"), "utf8").split("\r\n");
  expect(lines[0]?.split(",").at(-1)).toBe("noted");
  const rowAt = (time: string) => lines.find((line) => line.startsWith(`${time},`)) ?? "";
  expect(rowAt("2.5")).toMatch(/,mark$/);
  // A spreadsheet must not run what a passenger typed.
  expect(rowAt("3.25")).toMatch(/,'=hop$/);
  expect(rowAt("-2")).toMatch(/,"30\.00 s before the start: damp patch, at the start"$/);
  expect(lines.filter((line) => /^[-\d]/.test(line) && !line.endsWith(","))).toHaveLength(3);
});

test("the report lists them, run by run", async () => {
  await gripbook("report", ...BOOK(), "--out", at("day.html"));
  const page = readFileSync(at("day.html"), "utf8");
  expect(page).toContain("<h2>Noted while driving</h2>");
  for (const words of ["damp patch, at the start", "30.00 s before the start", "at 2.50 s", "=hop"]) expect(page).toContain(words);
});
