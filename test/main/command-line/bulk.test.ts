/** Runs chosen, labelled and noted by the dozen, compared by the season. Sources: the design's command line; RFC 4180 (quotes, line ends) through Python's csv module. */
import { spawnSync } from "node:child_process";
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import type { RunRow, RunView } from "../../../src/shared/contract/contract.ts";
import type { Comparison } from "../../../src/shared/judge/judged-run.ts";
import { gripbook, gripbookJson } from "../../support/run-gripbook.ts";
import { addTimedRuns } from "../../support/timed-book.ts";

let folder = "";
let book = "";
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
  book = join(folder, "season.gripbook");
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const ask = <T>(...words: string[]) => gripbookJson<T>(...words, "--book", book);
/** Runs 1 to 8 on a dry day, 9 to 16 on a wet one, 2 s slower; `on` is 0.3 s quicker. */
function twoDays(label = (i: number): string => (i % 2 === 0 ? "off" : "on")): void {
  for (const day of [0, 1])
    addTimedRuns(
      book,
      Array.from({ length: 8 }, (_, i) => ({ label: label(i), seconds: 5 + 2 * day + 0.011 * i - (i % 2) * 0.3 })),
      `day-${day}`,
      day,
    );
}

describe("runs chosen by number and by terms", () => {
  test("label and conditions take many runs at once, or none", async () => {
    twoDays(() => "");
    const labelled = await ask<RunView[]>("label", "1-3,5", "tight");
    expect(labelled.map(({ run }) => [run.id, run.label])).toEqual([1, 2, 3, 5].map((id) => [id, "tight"]));
    await ask("conditions", "all", "surface=wet", "tyre pressure=2.1 bar", "--where", "day=2031-05-05");
    const wet = await ask<RunRow[]>("runs", "--where", "surface=wet", "tyre pressure>2");
    expect(wet.map(({ id }) => id)).toEqual([9, 10, 11, 12, 13, 14, 15, 16]);
    const { out } = await gripbook("runs", "--book", book, "--where", "run=8-9");
    expect(out).toMatch(/8 .*surface: - {2}tyre pressure: - .*\n.*9 .*surface: wet {2}tyre pressure: 2\.1 bar/);
    expect((await gripbook("label", "5", "", "--book", book)).out).toBe("Run 5 has no label now.\n");
    const bad = await gripbook("label", "1-99", "loose", "--book", book);
    expect(bad.code).toBe(2);
    expect(await ask<RunRow[]>("runs", "--where", "label=loose")).toEqual([]);
    const none = await gripbook("runs", "--book", book, "--where", "srface=wet");
    expect(none.code).toBe(2);
    expect(none.err).toMatch(/No run has "srface": choose by run, label, use, day, surface/);
  });

  test.each(["compare", "advise", "response", "report"])("%s of runs that are not there says so, and writes nothing", async (command) => {
    twoDays();
    const report = join(folder, "none.html");
    const none = await gripbook(command, "--book", book, "--where", "label=loose", ...(command === "report" ? ["--out", report] : []));
    expect(none).toMatchObject({ code: 2, out: "" });
    expect(none.err).toContain("No run has label=loose");
    expect(existsSync(report)).toBe(false);
  });

  test("compare stays within days by itself, and takes strata and terms", async () => {
    twoDays();
    await ask("conditions", "9-16", "surface=wet");
    const season = await ask<Comparison>("compare");
    expect(season).toMatchObject({ by: ["day", "surface"], within: "2 days, surface not noted and wet: compared within each", used: 16 });
    expect(season.strata.map(({ name, a, b }) => [name, a, b])).toEqual([
      ["2031-05-04, surface not noted", 4, 4],
      ["2031-05-05, wet", 4, 4],
    ]);
    // Two of the 70 x 70 deals.
    expect(season.permutation).toMatchObject({ assignments: 4900, extreme: 2 });
    expect((await ask<Comparison>("compare", "--by", "none")).by).toEqual([]);
    expect(await ask<Comparison>("compare", "--where", "surface=wet")).toMatchObject({ used: 8, by: [] });
    const { err } = await gripbook("compare", "--book", book, "--by", "moon");
    expect(err).toContain("Expected --by with day, surface, direction, car, plan");
    const report = join(folder, "wet.html");
    await gripbook("report", "--book", book, "--out", report, "--where", "surface=wet");
    const page = readFileSync(report, "utf8");
    expect(page).toContain("From 4 runs of off and 4 of on");
    expect(page).toContain("Only runs with surface=wet: 8 of the book's 16.");
    expect((await gripbook("compare", "--book", book, "--where", "surface=wet")).out).toMatch(/^Only runs with surface=wet\.\n/);
    expect((await gripbook("compare", "--book", book)).out).not.toContain("Only runs");
    const { runs } = await ask<{ runs: number }>(
      "export",
      "9-12",
      "--as",
      "parquet",
      "--out",
      join(folder, "archive"),
      "--where",
      "label=on",
    );
    expect(runs).toBe(2);
  });

  test("a plan is filled by runs that are labelled afterwards, in one step", async () => {
    const plan = join(folder, "plan.json");
    const asked = { groups: ["off", "on"], runsPerGroup: 4, directions: 1, usableLengthM: 900, seed: 7 };
    writeFileSync(plan, JSON.stringify(asked));
    addTimedRuns(book, [{ label: "before", seconds: 6 }], "before");
    const drawn = await ask<{ plan: { slots: { group: string }[] } }>("plan", "--set", plan);
    addTimedRuns(
      book,
      Array.from({ length: 8 }, (_, i) => ({ label: "", seconds: 5 + i / 100 })),
    );
    expect((await ask<{ progress: { filled: unknown[] } }>("plan")).progress.filled.every((run) => run === null)).toBe(true);
    await ask("label", "2-9", "--as-planned");
    const { progress } = await ask<{ progress: { filled: (number | null)[] } }>("plan");
    expect(progress.filled).toEqual([2, 3, 4, 5, 6, 7, 8, 9]);
    expect((await ask<RunRow[]>("runs", "--where", "run=2-9")).map(({ label }) => label)).toEqual(
      drawn.plan.slots.map(({ group }) => group),
    );
    expect((await gripbook("label", "all", "--as-planned", "--book", book)).out).toContain('Run 1 keeps "before"');
  });
});

describe("table", () => {
  const python = (program: string, ...files: string[]) => spawnSync("/usr/bin/python3", ["-c", program, ...files], { encoding: "utf8" });

  test("goes out, is edited by another program, and comes in again, files kept included", async () => {
    twoDays();
    await ask("conditions", "1-2", 'note of the day=gusts, "strong"', "formula==1+1");
    const file = join(folder, "runs.csv");
    await gripbook("table", "--book", book, "--out", file);
    writeFileSync(join(folder, "gains.txt"), "p 3\n");
    const edited = python(
      `
import csv, sys
rows = list(csv.DictReader(open(sys.argv[1], newline='')))
assert rows[0]['note of the day'] == 'gusts, "strong"' and rows[0]['formula'] == "'=1+1", rows[0]
for i, row in enumerate(rows):
    row['label'] = 'tight' if i < 12 else 'loose'
    row['tyre pressure'] = '2.%d bar' % i
    row['controller file'] = 'gains.txt' if i == 3 else ''
rows[1]['note of the day'] = '-'
rows[5]['use'] = 'no'; rows[5]['note'] = 'wind'
w = csv.DictWriter(open(sys.argv[1], 'w', newline=''), rows[0].keys()); w.writeheader(); w.writerows(rows)`,
      file,
    );
    if (edited.error) return console.log(`skipped: the table edited by Python, because ${edited.error.message}`);
    expect(edited.stderr).toBe("");
    expect(await ask("table", "--in", file)).toEqual({ runs: 16, labels: 16, reviews: 1, conditions: 17, files: 1 });
    const [first, second, , fourth] = await ask<RunView[]>("show", "all");
    expect(first?.run.conditions).toMatchObject({ "note of the day": 'gusts, "strong"', formula: "=1+1", "tyre pressure": "2.0 bar" });
    expect(second?.run.conditions).not.toHaveProperty("note of the day");
    expect(fourth?.run.conditions["controller file"]).toMatch(/^gains\.txt sha256:[0-9a-f]{64}$/);
    expect((await ask<RunRow[]>("runs", "--where", "use=no")).map(({ id }) => id)).toEqual([6]);
    // Out and in once more changes nothing.
    await gripbook("table", "--book", book, "--out", file, "--force");
    expect(await ask("table", "--in", file)).toEqual({ runs: 0, labels: 0, reviews: 0, conditions: 0, files: 0 });
  });

  test.each([
    ["label\nx\n", /first row: expected a column "run", got label/],
    ["run,label\n1,a\n1,b\n", /row 3, column "run": run 1 is there twice/],
    ["run,label\n99,a\n", /row 2, column "run": expected the number of a run of this book, got "99"/],
    ["run,label,label\n1,a,b\n", /expected different columns, got "label" twice/],
    ["run,use\n1,maybe\n", /row 2, column "use": expected yes or no, got "maybe"/],
    ["run,use\n1,no\n", /row 2, column "note": a run is set aside with a reason/],
    ['run,label\n1,"a\n', /row 2: expected a field that is quoted whole or not at all/],
    ["run,controller file\n1,nowhere.txt\n", /File to keep/],
    ["run,controller file\n1,../id_ed25519\n", /row 2, column "controller file": expected the name of a file beside the table/],
    ["run,controller file\n1,/etc/hostname\n", /row 2, column "controller file": expected the name of a file beside the table/],
  ])("refuses %j in one line that names the place, and changes nothing", async (text, words) => {
    twoDays();
    const file = join(folder, "bad.csv");
    writeFileSync(file, text);
    const { code, err } = await gripbook("table", "--book", book, "--in", file);
    expect(code).toBe(2);
    expect(err).toMatch(words);
    expect(err.trim().split("\n")).toHaveLength(1);
  });
});
