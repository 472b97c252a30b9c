/** The log that the command line keeps, and the file that is handed over: complete enough to look for a fault, without keys, and without positions unless asked for. */
import { mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from "node:fs";
import { homedir, tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { openSqliteBook } from "../../../src/main/adapters/sqlite/sqlite-book.ts";
import { createLog, newestLogLines } from "../../../src/main/disk/log.ts";
import { carSetUp } from "../../../src/shared/simulation/car-files.ts";
import { defaultDayPlan } from "../../../src/shared/simulation/default-day.ts";
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

/** 30 S 20 W, open ocean. The checksum is NMEA 0183's: exclusive or of what stands between $ and *. */
function sentence(body: string): string {
  const sum = [...body].reduce((xor, sign) => xor ^ sign.charCodeAt(0), 0);
  return `$${body}*${sum.toString(16).toUpperCase().padStart(2, "0")}\r\n`;
}

function recordedBook(): void {
  const book = openSqliteBook({ file: at("day.gripbook"), create: true });
  const setUp = { text: JSON.stringify(carSetUp(defaultDayPlan(1).bus), null, 2), signalFiles: [] };
  const { id } = book.startRecording({ uid: "r", origin: "import", baseUtcUs: Date.UTC(2031, 4, 4, 10) * 1000, canFormat: "slcan", setUp });
  const packets = ["01", "02"].map((second) => ({
    stream: "gnss" as const,
    arrivalNs: Number(second) * 1e9,
    bytes: Buffer.from(sentence(`GPRMC,1000${second}.00,A,3001.23456,S,02004.56789,W,0.1,77.5,040531,,,A`)),
  }));
  const gaps = [{ stream: "can" as const, fromNs: 3e9, toNs: 5e9, cause: "the adapter was pulled out" }];
  book.append(id, { packets, marks: [], gaps, clock: [] });
  book.closeRecording(id, "closed");
  book.close();
}

test("happened tells machine, holes, set-up and log, and where the car was only when asked", async () => {
  recordedBook();
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
  expect(told).not.toMatch(/Qk3Z9|30\.02|3001\.2|20\.07/);
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
