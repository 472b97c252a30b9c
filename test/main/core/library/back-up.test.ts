/** The book copied while it records, by SQLite's own online backup: the copy is sound and whole up to then, and the recording misses nothing. */
import { existsSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { basename, dirname, join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import { ask } from "../../../support/ask.ts";
import { driveCore, shortDrive } from "../../../support/driven-core.ts";

let folder = "";
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-copy-"));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

test("a copy made in the middle of a launch is sound, beside the book, and nothing is written over; the recording goes on whole", async () => {
  const { packets } = shortDrive([
    { kind: "stand", seconds: 2 },
    { kind: "launch", standS: 3, toKmh: 105 },
    { kind: "stand", seconds: 5 },
  ]);
  const file = join(folder, "day.gripbook");
  const driven = driveCore({ file, packets, alwaysArmed: true });
  try {
    driven.driveTo(7e6);
    const first = (await ask(driven.core, "book.backUp", {})).file;
    expect(dirname(first)).toBe(folder);
    expect(basename(first)).toMatch(/^day-copy-\d{4}-\d{2}-\d{2}\.gripbook$/);
    driven.driveTo((packets.at(-1)?.arrivalUs ?? 0) + 50_000);
    const second = (await ask(driven.core, "book.backUp", {})).file;
    expect(second).not.toBe(first);
    await driven.core.close();
    for (const [copy, untilUs, runs] of [
      [first, 7e6, 0],
      [second, Number.POSITIVE_INFINITY, 1],
    ] as const) {
      const book = openSqliteBook({ file: copy, create: false });
      expect(book.integrityFaults()).toEqual([]);
      expect(book.recordings()).toHaveLength(1);
      expect(book.journalFaults(1)).toEqual([]);
      expect(book.runs()).toHaveLength(runs);
      // What had arrived a block before the copy was asked for.
      const due = packets.filter(({ arrivalUs }) => arrivalUs <= untilUs - 250_000).length;
      expect(due).toBeGreaterThan(1000);
      expect([...book.packets(1)].length).toBeGreaterThanOrEqual(due);
      book.close();
    }
    expect(driven.book.runs()).toMatchObject([{ final: true }]);
    expect([...driven.book.packets(1)].length).toBe(packets.length);
  } finally {
    driven.book.close();
  }
});

test("a copy that cannot be made rejects and leaves no partial file", async () => {
  const file = join(folder, "other.gripbook");
  const book = openSqliteBook({ file, create: true });
  book.close();
  await expect(book.backUp("2031-05-04")).rejects.toThrow(/not open/);
  expect(existsSync(join(folder, "other-copy-2031-05-04.gripbook"))).toBe(false);
});
