/**
 * What a command writes never replaces what it should not: a book, a book's other files, a set-up, a file without --force, and the target
 * of a link stay as they were. Links: CWE-59; exclusive making: POSIX open(2), O_CREAT with O_EXCL.
 */
import { createHash } from "node:crypto";
import { existsSync, lstatSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import { afterAll, beforeAll, beforeEach, describe, expect, test } from "vitest";
import { openSqliteBook } from "../../../src/main/adapters/sqlite/sqlite-book.ts";
import { carSetUp } from "../../../src/shared/simulation/car-files.ts";
import { gripbook } from "../../support/run-gripbook.ts";
import { addTimedRuns, WORKED_EXAMPLE } from "../../support/timed-book.ts";

let folder = "";
const at = (name: string) => join(folder, name);
const hash = (file: string) => createHash("sha256").update(readFileSync(file)).digest("hex");

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-outputs-"));
  addTimedRuns(at("day.gripbook"), WORKED_EXAMPLE);
  openSqliteBook({ file: at("other.html"), create: true }).close();
  writeFileSync(at("setup.json"), JSON.stringify(carSetUp({ frontWheelSensors: true, rearWheelSensors: true, stamps: true })));
  writeFileSync(at("precious.txt"), "ten years of notes");
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const exporting = (out: string, ...more: string[]) => ["export", "1", "--book", at("day.gripbook"), "--as", "csv", "--out", out, ...more];

async function refused(given: readonly string[], said: RegExp): Promise<void> {
  const { code, out, err } = await gripbook(...given);
  expect(err.trim()).toMatch(said);
  expect(err.trim().split("\n")).toHaveLength(1);
  expect(out).toBe("");
  expect(code).toBe(2);
}

describe("a place that is taken", () => {
  beforeEach(() => writeFileSync(at("there.csv"), "mine"));

  test.each(["day.gripbook", "other.html"])("a book (%s) is not written over, forced or not", async (name) => {
    const before = hash(at(name));
    for (const more of [[], ["--force"]]) await refused(exporting(at(name), ...more), /is a book: name another file/);
    expect(hash(at(name))).toBe(before);
  });

  test("nor does a report take a book's place, whatever the book is called", async () => {
    const before = hash(at("other.html"));
    for (const more of [[], ["--force"]])
      await refused(["report", "--book", at("day.gripbook"), "--out", at("other.html"), ...more], /is a book: name another file/);
    expect(hash(at("other.html"))).toBe(before);
  });

  test("nothing is written where a book keeps its newest rows or its lock", async () => {
    for (const ending of ["wal", "shm", "journal", "owner"])
      await refused(exporting(at(`day.gripbook-${ending}`), "--force"), /belongs to the book .*day\.gripbook: name another file/);
    expect(readdirSync(folder).filter((name) => name.endsWith("-journal"))).toEqual([]);
  });

  test("a set-up is not written over, forced or not", async () => {
    const before = hash(at("setup.json"));
    for (const more of [[], ["--force"]]) await refused(exporting(at("setup.json"), ...more), /is a set-up: name another file/);
    expect(hash(at("setup.json"))).toBe(before);
  });

  test("a file that is there stays without --force, and gives way to the whole new one with it", async () => {
    await refused(exporting(at("there.csv")), /there\.csv is there already: name another file, or add --force/);
    expect(readFileSync(at("there.csv"), "utf8")).toBe("mine");
    expect((await gripbook(...exporting(at("there.csv"), "--force"))).code).toBe(0);
    expect(readFileSync(at("there.csv"), "utf8")).toMatch(/^timeS,/);
    expect(readdirSync(folder).filter((name) => name.endsWith(".part"))).toEqual([]);
  });

  test("a link is not followed, to a file or to nothing", async () => {
    symlinkSync(at("precious.txt"), at("link.csv"));
    symlinkSync(at("not-there-yet.txt"), at("dangling.csv"));
    for (const name of ["link.csv", "dangling.csv"])
      for (const more of [[], ["--force"]]) await refused(exporting(at(name), ...more), /is a link: name the file itself/);
    await refused(["copy", "--book", at("day.gripbook"), "--out", at("dangling.csv")], /is a link: name the file itself/);
    expect(readFileSync(at("precious.txt"), "utf8")).toBe("ten years of notes");
    expect(existsSync(at("not-there-yet.txt"))).toBe(false);
    expect(lstatSync(at("link.csv")).isSymbolicLink()).toBe(true);
  });

  test("a folder and a device are no file", async () => {
    await refused(exporting(folder), /is a folder: name a file in it/);
    await refused(exporting("/dev/null", "--force"), /\/dev\/null is no plain file: name another/);
  });
});

describe("a folder of files", () => {
  test("export all asks before it writes the first one", async () => {
    mkdirSync(at("runs"));
    writeFileSync(at("runs/run-3.csv"), "mine");
    const all = ["export", "all", "--book", at("day.gripbook"), "--as", "csv", "--out", at("runs")];
    await refused(all, /run-3\.csv is there already: name another folder, or add --force/);
    expect(readdirSync(at("runs"))).toEqual(["run-3.csv"]);
    expect((await gripbook(...all, "--force")).code).toBe(0);
    expect(readdirSync(at("runs"))).toHaveLength(9);
    expect(readFileSync(at("runs/run-3.csv"), "utf8")).toMatch(/^timeS,/);
  });

  test("units beside a CSV take no other file's place either, and nothing is written then", async () => {
    writeFileSync(at("alone.csv-metadata.json"), "mine");
    for (const as of ["csv", "runs"])
      await refused(
        ["export", "1", "--book", at("day.gripbook"), "--as", as, "--out", at("alone.csv")],
        /alone\.csv-metadata\.json is there already: name another file, or add --force/,
      );
    expect(existsSync(at("alone.csv"))).toBe(false);
    expect((await gripbook(...exporting(at("alone.csv"), "--units-row"))).code).toBe(0);
    expect(readFileSync(at("alone.csv"), "utf8")).toMatch(/^timeS,.*\r\ns,km\/h,/);
    expect(readFileSync(at("alone.csv-metadata.json"), "utf8")).toBe("mine");
  });

  test("a simulated day writes no set-up over, and leaves nothing half written where it may not", async () => {
    mkdirSync(at("sim"));
    writeFileSync(at("sim/setup.json"), readFileSync(at("setup.json")));
    for (const more of [[], ["--force"]])
      await refused(["simulate", "--out", at("sim"), ...more], /setup\.json is a set-up: name another folder/);
    expect(readdirSync(at("sim"))).toEqual(["setup.json"]);
  });
});

test("a run whose name would lead out of the folder is neither exported nor merged", async () => {
  addTimedRuns(at("hostile.gripbook"), WORKED_EXAMPLE);
  const db = new Database(at("hostile.gripbook"));
  db.prepare("UPDATE run SET uid = ? WHERE id = 2").run("../../../evil");
  db.close();
  mkdirSync(at("deep/er/archive"), { recursive: true });
  await refused(
    ["export", "all", "--book", at("hostile.gripbook"), "--as", "parquet", "--out", at("deep/er/archive")],
    /A run's name can be no file's: something else than Gripbook changed that book/,
  );
  const written = readdirSync(folder, { recursive: true }).map(String);
  expect(written.filter((name) => name.includes("evil"))).toEqual([]);
  await refused(["merge", at("hostile.gripbook"), "--book", at("day.gripbook")], /the name of run 2 is none of Gripbook's/);
});

test("a file is kept with a run under a plain name alone, and taken out over nothing", async () => {
  for (const name of [".bashrc", "-rf"]) {
    writeFileSync(at(name), "gain=7");
    await refused(["conditions", "1", "--book", at("day.gripbook"), "--file", at(name)], /File to keep: expected a plain file name/);
  }
  writeFileSync(at("gain.xml"), "gain=7");
  expect((await gripbook("conditions", "1", "--book", at("day.gripbook"), "--file", at("gain.xml"))).code).toBe(0);
  await refused(
    ["kept-file", "1", "--book", at("day.gripbook"), "--out", at("precious.txt")],
    /precious\.txt is there already: name another file/,
  );
  expect(readFileSync(at("precious.txt"), "utf8")).toBe("ten years of notes");
});
