/**
 * A page of the run table that cannot be read takes the runs on it with it and no others, in every command; rederive brings them back from the journal.
 * The outside reference is the book before, and SQLite's integrity check. A page begins with its kind (sqlite.org/fileformat2.html, 1.6).
 */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import { afterEach, beforeEach, expect, test } from "vitest";
import { openSqliteBook } from "../../../src/main/adapters/sqlite/sqlite-book.ts";
import type { RunView } from "../../../src/shared/contract/contract.ts";
import { gripbook, gripbookJson } from "../../support/run-gripbook.ts";
import { unpackBook } from "../../support/stored-book.ts";
import { addTimedRuns } from "../../support/timed-book.ts";

let folder = "";
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));
const file = () => join(folder, "a.gripbook");

/** Spoils the kind of a page that holds a table's rows; gives how many it held. */
function spoilPage(which: number, table = "run"): number {
  const db = new Database(file());
  db.pragma("wal_checkpoint(TRUNCATE)");
  const pages = db.prepare("SELECT pageno, ncell FROM dbstat WHERE name = ? AND pagetype = 'leaf' ORDER BY pageno").all(table) as {
    pageno: number;
    ncell: number;
  }[];
  const size = db.pragma("page_size", { simple: true }) as number;
  db.close();
  const page = pages.at(which);
  if (page === undefined) throw new Error(`the table ${table} has only ${pages.length} pages`);
  const bytes = readFileSync(file());
  bytes[(page.pageno - 1) * size] = 0xff;
  writeFileSync(file(), bytes);
  return page.ncell;
}

const LOST_LINE =
  /^Run \d+: the page of the book that it is on is damaged; `rederive` computes it again from the journal, and gives it back what was kept of its label and notes$/;

test("runs on other pages are listed, shown, compared, exported and reported, and each on the damaged one is a line", async () => {
  const labels = ["off", "on"];
  addTimedRuns(
    file(),
    Array.from({ length: 16 }, (_, i) => ({ label: labels[i % 2] as string, seconds: 4.3 + 0.01 * i })),
  );
  const all = (await gripbookJson<{ id: number }[]>("runs", "--book", file())).map(({ id }) => id);
  const lost = spoilPage(1);
  expect(lost).toBeLessThan(all.length - 6);
  for (const given of [
    ["runs"],
    ["show", "all"],
    ["compare", "--a", "off", "--b", "on"],
    ["report", "--out", join(folder, "day.html")],
    ["export", "all", "--as", "csv", "--out", join(folder, "csv")],
    ["advise"],
  ]) {
    const { code, out, err } = await gripbook(...given, "--book", file());
    expect([given[0], code]).toEqual([given[0], 0]);
    expect(
      err
        .trimEnd()
        .split("\n")
        .filter((line) => LOST_LINE.test(line)),
    ).toHaveLength(lost);
    if (given[0] === "runs") expect(out.trimEnd().split("\n")).toHaveLength(all.length - lost);
  }
});

test.each(["DELETE FROM set_up WHERE id = 2", `UPDATE set_up SET text = '{"car"' WHERE id = 2`])(
  "a set-up that cannot be read takes no run out of the lists: %s",
  async (sql) => {
    addTimedRuns(
      file(),
      [4.31, 4.35, 4.4, 4.52, 4.56, 4.61].map((seconds, i) => ({ label: i < 3 ? "on" : "off", seconds })),
    );
    const book = openSqliteBook({ file: file(), create: false });
    const setUp = { text: "{}", signalFiles: [] };
    const { id } = book.startRecording({ uid: "b", origin: "live", baseUtcUs: 1.9e15, canFormat: "slcan", setUp });
    book.closeRecording(id, "closed");
    book.markDerived(id);
    book.close();
    const db = new Database(file());
    db.pragma("foreign_keys = OFF");
    db.exec(sql);
    db.close();
    for (const given of [["runs"], ["runs", "--where", "label=on"], ["compare"], ["table", "--out", join(folder, "table.csv")]]) {
      const { code, err } = await gripbook(...given, "--book", file());
      expect([given.join(" "), code, err]).toEqual([given.join(" "), 0, ""]);
    }
  },
);

test("rederive brings back the runs of a damaged page, with what was kept of their labels and reviews, and the book is sound", async () => {
  unpackBook(5, file());
  expect((await gripbook("rederive", "--book", file())).code).toBe(0);
  const before = await gripbookJson<RunView[]>("show", "all", "--book", file());
  expect(spoilPage(0)).toBe(before.length);
  const listed = await gripbook("runs", "--book", file());
  expect(listed.code).toBe(0);
  expect(listed.err.trimEnd().split("\n")).toEqual(before.map(() => expect.stringMatching(LOST_LINE)));
  expect((await gripbook("show", "1", "--book", file())).code).toBe(1);
  const mended = await gripbook("rederive", "--book", file());
  expect(mended).toMatchObject({ code: 0, err: expect.stringMatching(/^Run 1: its page was damaged; it is computed again/) });
  expect(await gripbook("check", "--book", file())).toMatchObject({ code: 0, out: expect.stringMatching(/^Sound: /) });
  expect(await gripbookJson<RunView[]>("show", "all", "--book", file())).toEqual(before);
});

test("rederive brings them back where a page of another table is damaged as well, and check names what is left", async () => {
  unpackBook(5, file());
  expect(spoilPage(0)).toBeGreaterThan(0);
  spoilPage(0, "clock_sample");
  const mended = await gripbook("rederive", "--book", file());
  expect(mended).toMatchObject({ code: 0, err: expect.stringMatching(/^Run 1: its page was damaged; it is computed again/m) });
  expect(await gripbookJson<RunView[]>("show", "all", "--book", file())).toHaveLength(2);
  expect(await gripbook("check", "--book", file())).toMatchObject({ code: 1, out: expect.stringMatching(/the file itself is damaged/) });
});
