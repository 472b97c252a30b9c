/** The log that the command line keeps, and the file that is handed over: complete enough to look for a fault, without keys, and without positions unless asked for. */
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from "node:fs";
import { homedir, tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { createLog, newestLogLines } from "../../../src/main/disk/log.ts";
import { recordBook } from "../../support/recorded-book.ts";
import { gripbook, gripbookJson } from "../../support/run-gripbook.ts";

let folder = "";
let before: string | undefined;
const at = (name: string) => join(folder, name);

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-happened-"));
  before = process.env.XDG_DATA_HOME;
  process.env.XDG_DATA_HOME = at("data");
});
afterEach(() => {
  process.env.XDG_DATA_HOME = before;
  rmSync(folder, { recursive: true, force: true });
});

test("happened tells machine, holes, set-up and log, and where the car was only when asked", async () => {
  recordBook(at("day.gripbook"));
  await gripbook("runs", "--book", at("none.gripbook"));
  createLog("start")(
    "info",
    `Open this address: http://127.0.0.1:61733/#key=Qk3Z9xk2Lw8Rr1Tt5Yy7Uu; seen at -30.020576, -20.076132; ${homedir()}/day`,
  );
  await gripbookJson("happened", "--book", at("day.gripbook"), "--out", at("told.txt"));
  const told = readFileSync(at("told.txt"), "utf8");
  expect(told).toMatch(/^Gripbook \d/);
  expect(told).toContain("Hole, can: 3.0 to 5.0 s: the adapter was pulled out");
  expect(told).toContain('"motorSpeed"');
  expect(told).toMatch(/error command \d+ Book .*none\.gripbook: not found/);
  expect(told).toContain("SQLite finds no fault");
  expect(told).toContain("#key=[left out]");
  expect(told).toContain("~/day");
  // A line of the log may have been written 20.07 s after the minute.
  expect(told.replaceAll(/T\d\d:\d\d:\d\d\.\d{3}Z/g, "")).not.toMatch(/Qk3Z9|30\.02|3001\.2|20\.07/);
  expect(statSync(at("told.txt")).mode & 0o077).toBe(0);
  const answer = await gripbookJson("happened", "--book", at("day.gripbook"), "--out", at("where.txt"), "--with-positions");
  expect(answer).toMatchObject({ withPositions: true });
  // 30 degrees and 1.23456 minutes: 30 + 1.23456 / 60.
  expect(readFileSync(at("where.txt"), "utf8")).toContain(`from ${(-30 - 1.23456 / 60).toFixed(6)}, ${(-20 - 4.56789 / 60).toFixed(6)}`);
});

test("happened is written for a book that cannot be read, and for none", async () => {
  writeFileSync(at("torn.gripbook"), "no book");
  expect((await gripbook("happened", "--book", at("torn.gripbook"), "--out", at("a.txt"))).code).toBe(0);
  expect(readFileSync(at("a.txt"), "utf8")).toMatch(/Book .*torn\.gripbook could not be read: .*no SQLite file/);
  expect((await gripbook("happened", "--out", at("b.txt"))).code).toBe(0);
  const again = await gripbook("happened", "--out", at("b.txt"));
  expect([again.code, again.err.trim()]).toEqual([2, expect.stringContaining("is there already")]);
});

test("the log turns over: it never holds more than two files a process, and the newest line is in it", () => {
  const log = createLog("measuring");
  for (let i = 0; i < 4_000; i += 1) log("warn", `line ${i} ${"words ".repeat(150)}`);
  const files = readdirSync(at("data/gripbook/log"));
  expect(files.length).toBeLessThanOrEqual(2);
  for (const file of files) expect(statSync(at(`data/gripbook/log/${file}`)).size).toBeLessThan(1_100_000);
  expect(newestLogLines(1)[0]).toMatch(/^\d{4}-\d\d-\d\dT[\d:.]+Z warn measuring \d+ line 3999 /);
  expect(statSync(at("data/gripbook/log/measuring.log")).mode & 0o077).toBe(0);
});

test("a log that cannot be kept is said once, and the command does its work", async () => {
  writeFileSync(at("data"), "a file where the folder would be");
  const { code, err } = await gripbook("runs", "--book", at("none.gripbook"));
  expect(code).toBe(2);
  expect(err.trim().split("\n")).toEqual([
    expect.stringContaining("not found"),
    expect.stringMatching(/^gripbook: no log is kept in .*data.*make that folder writable$/),
  ]);
});

test("a part of the log that cannot be read is a line of it, and the rest is there", () => {
  createLog("start", at("log"))("info", "it was started");
  mkdirSync(at("log/web.log"));
  const lines = newestLogLines(10, at("log"));
  expect(lines).toContainEqual(expect.stringMatching(/info start \d+ it was started$/));
  expect(lines).toContainEqual(expect.stringMatching(/^Log .*web\.log: a folder, not a file/));
});
