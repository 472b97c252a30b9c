/**
 * Books of unknown origin, empty files and full drives: each is described correctly, and nothing in a foreign file runs. Sources:
 * sqlite.org/security.html ("Untrusted SQLite Database Files"), wal.html ("Use of WAL Without Shared-Memory"), POSIX permission bits.
 */
import { spawnSync } from "node:child_process";
import { once } from "node:events";
import { existsSync, mkdirSync, mkdtempSync, rmSync, statSync, truncateSync, writeFileSync } from "node:fs";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import { afterEach, beforeEach, expect, test } from "vitest";
import { openConnection } from "../../../../src/main/adapters/sqlite/sqlite-connection.ts";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import { createSeals } from "../../../../src/main/adapters/sqlite/sqlite-seals.ts";
import { openBook } from "../../../../src/main/open-book.ts";
import { gripbook } from "../../../support/run-gripbook.ts";
import { createSmallDrive, type SmallDrive, whyNoDrive } from "../../../support/small-drive.ts";
import { shownBy, unpackBook } from "../../../support/stored-book.ts";
import { START, runWrite } from "./book-run.fixture.ts";

if (whyNoDrive !== null) console.warn(`skipped: a book on a full drive: ${whyNoDrive}`);

const MAKE_PIPE = "mkfifo";
let folder = "";
let drive: SmallDrive | null = null;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
});
afterEach(() => {
  drive?.dispose();
  drive = null;
  rmSync(folder, { recursive: true, force: true });
});

const file = () => join(folder, "a.gripbook");

function changed(sql: string): string {
  unpackBook(4, file());
  const db = new Database(file());
  db.pragma("foreign_keys = OFF");
  db.exec(sql);
  db.close();
  return file();
}

const ENDLESS = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT i AS id FROM n";
test.each([
  [
    "a trigger",
    "CREATE TRIGGER more AFTER UPDATE ON run BEGIN UPDATE run SET note = 'mine'; END",
    /the trigger "more" on "run" is none of a book's/,
  ],
  [
    "a trigger of ours with another body",
    "DROP TRIGGER sample_updated; CREATE TRIGGER sample_updated AFTER UPDATE ON sample BEGIN DELETE FROM run; END",
    /the trigger sample_updated is another than a book has/,
  ],
  ["an endless view named like a table", `DROP TABLE run; CREATE VIEW run AS ${ENDLESS}`, /the table run is another than a book has/],
  [
    "a table with other columns",
    'ALTER TABLE setting ADD COLUMN "x""; DROP TABLE run; --" TEXT',
    /the table setting is another than a book has/,
  ],
  ["a missing table", "DROP TABLE clock_sample", /the table clock_sample is missing/],
  ["an index that refuses our rows", "CREATE UNIQUE INDEX one ON recording (state)", /the index "one" on "recording" is none of a book's/],
])("a book with %s is refused before anything of it runs", (_, sql, words) => {
  const given = changed(sql);
  expect(() => openSqliteBook({ file: given, create: false })).toThrow(
    /^Book .*a\.gripbook was changed by another program, or is made up: .*; use a copy from before$/,
  );
  expect(() => openSqliteBook({ file: given, create: false })).toThrow(words);
  const db = new Database(given, { readonly: true });
  expect(db.pragma("user_version", { simple: true }), "no migration was begun").toBe(4);
  db.close();
});

test("a view of one's own harms nothing, and check tells of it", () => {
  const book = openSqliteBook({ file: changed("CREATE VIEW mine AS SELECT id, label FROM run; DROP INDEX run_recording"), create: false });
  expect(book.runs()).toHaveLength(2);
  expect(book.integrityFaults()).toEqual([
    "the index run_recording is missing: another program was here; it does no harm, and SQL can put it right",
    'the view "mine" on "mine" is none of a book\'s: another program was here; it does no harm, and SQL can put it right',
  ]);
  book.close();
});

test("every connection is as SQLite says for untrusted files", () => {
  const { db } = openConnection({ file: file(), create: true });
  const asked = ["trusted_schema", "cell_size_check", "mmap_size"].map((name) => db.pragma(name, { simple: true }));
  expect(asked).toEqual([0, 1, 0]);
  // SQLITE_DBCONFIG_DEFENSIVE: the schema's own table takes no write.
  db.pragma("writable_schema = ON");
  expect(() => db.exec("UPDATE sqlite_schema SET sql = ''")).toThrow(/may not be modified/);
  db.close();
});

test("a sample column that no book has is named with its run, and is no part of a statement", () => {
  unpackBook(4, file());
  const odd = { 'pedal" FROM sample; DROP TABLE run; --': "%" };
  const book = openSqliteBook({ file: file(), create: false });
  const write = runWrite(1, "odd");
  expect(() =>
    book.addRun({ ...write, samples: { ...write.samples, roles: { [Object.keys(odd)[0] as string]: write.samples.tS } }, roleUnits: odd }),
  ).toThrow(/no column for/);
  book.close();
  const db = new Database(file());
  db.prepare("UPDATE run SET role_units = ? WHERE id = 1").run(JSON.stringify(odd));
  // An attacker can make seals too.
  createSeals(db).seal("figures", 1);
  db.close();
  const again = openSqliteBook({ file: file(), create: false });
  expect(() => again.samples(1)).toThrow(/run 1 names a sample column that no book has, "pedal.*; run rederive$/);
  expect(again.recordings()).toHaveLength(1);
  again.close();
});

test("an empty file is no book; where a new one may begin, that is said", async () => {
  writeFileSync(file(), "");
  const { code, err } = await gripbook("runs", "--book", file());
  expect([code, err]).toEqual([
    2,
    expect.stringMatching(
      /^Book .*a\.gripbook: the file is empty \(0 bytes\): nothing was ever written, or a copy failed; name another\n$/,
    ),
  ]);
  const { book, recovery } = openBook({ file: file(), create: true });
  expect(recovery.told).toEqual([
    expect.stringMatching(/^Book .* was an empty file \(0 bytes\): a new book begins in it\. If runs were in it once/),
  ]);
  book.close();
});

test("a book of which a part is missing says so, and no command sends to another", () => {
  unpackBook(5, file());
  truncateSync(file(), 800_000);
  expect(() => openSqliteBook({ file: file(), create: false })).toThrow(
    /is damaged so that it cannot be opened \(database disk image is malformed\), as when a part of the file is missing: use a copy from before$/,
  );
});

test("a folder is no book, and is not said to have two names", () => {
  mkdirSync(join(folder, "days"));
  expect(() => openSqliteBook({ file: folder, create: true })).toThrow(/ is a folder: name the book in it$/);
});

test.skipIf(process.platform === "win32")(
  "a pipe, a socket and a device are said to be what they are, at once, with the exit code of a wrong file",
  async () => {
    const [pipe, socket] = [join(folder, "pipe"), join(folder, "socket")];
    spawnSync(MAKE_PIPE, [pipe]);
    const server = createServer().listen(socket);
    await once(server, "listening");
    for (const [given, what] of [
      [pipe, "a pipe"],
      [socket, "a socket"],
      ["/dev/null", "a device"],
    ] as const)
      for (const command of [["runs"], ["merge", given]]) {
        const book = command[0] === "merge" ? file() : given;
        if (command[0] === "merge") openSqliteBook({ file: book, create: true }).close();
        const { code, err } = await gripbook(...command, "--book", book);
        expect([code, err]).toEqual([2, `Book ${given} is ${what}, no file: name a book\n`]);
      }
    server.close();
  },
);

test("a book that cannot be made leaves no empty file", () => {
  expect(() => openSqliteBook({ file: join(folder, "none", "a.gripbook"), create: true })).toThrow(/cannot be opened in/);
  expect(existsSync(join(folder, "none"))).toBe(false);
});

test.skipIf(process.platform === "win32")("a book, what stands beside it and its copies are for their owner alone", () => {
  const book = openSqliteBook({ file: file(), create: true });
  book.startRecording(START);
  expect(book.own()).toBe(true);
  book.copyTo(join(folder, "copy.gripbook"));
  const modes = ["a.gripbook", "a.gripbook-wal", "a.gripbook-shm", "a.gripbook-owner", "copy.gripbook"].map((name) => [
    name,
    (statSync(join(folder, name)).mode & 0o777).toString(8),
  ]);
  expect(modes.map(([, mode]) => mode)).toEqual(["600", "600", "600", "600", "600"]);
  book.close();
});

test.skipIf(whyNoDrive !== null).each([3, 4, 5, 6] as const)(
  "a sound book of version %i on a full drive is readable, says so, and takes no write",
  async (version) => {
    drive = createSmallDrive(folder, 6);
    const given = unpackBook(version, join(drive.folder, "a.gripbook"));
    drive.fill();
    const { code, out, err } = await gripbook("runs", "--book", given);
    expect([code, err]).toEqual([
      0,
      expect.stringMatching(/^Book .*a\.gripbook: the disk is full, so it is open for reading only; free some space, then open it again\n/),
    ]);
    expect(out.trimEnd().split("\n")).toHaveLength(shownBy(version).length);
    expect((await gripbook("check", "--book", given)).out).not.toMatch(/not what was written/);
    expect((await gripbook("export", "1", "--book", given, "--as", "csv", "--out", join(folder, "1.csv"))).code).toBe(0);
    const label = await gripbook("label", "1", "other", "--book", given);
    expect([label.code, label.err.split("\n").at(-2)]).toEqual([
      1,
      expect.stringMatching(/the disk is full, so it is open for reading only/),
    ]);
    const rederived = await gripbook("rederive", "--book", given);
    expect([rederived.code, rederived.err.split("\n").at(-2)]).toEqual([
      1,
      expect.stringMatching(/the disk is full, so it is open for reading only/),
    ]);
    drive.free();
    const book = openSqliteBook({ file: given, create: false });
    expect(book.notes).toEqual([]);
    expect(book.integrityFaults()).toEqual([]);
    book.close();
  },
);
