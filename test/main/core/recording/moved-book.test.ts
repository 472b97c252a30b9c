/**
 * The book's file is moved, deleted or replaced during a drive: reported within a second, and every byte of the drive is in the file beside
 * it. The outside reference is what was driven. Source: sqlite.org/howtocorrupt.html, 2.4.
 */
import { linkSync, mkdtempSync, readdirSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import { checkBook } from "../../../../src/main/core/deriving/check-book.ts";
import { gatesOf } from "../../../../src/main/core/judging/own-gates.ts";
import { driveCore, shortDrive } from "../../../support/driven-core.ts";

const PATIENCE = { timeout: 150_000 };
let folder = "";
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const ways = {
  moved: (file: string) => renameSync(file, join(folder, "elsewhere")),
  deleted: (file: string) => rmSync(file),
  replaced(file: string) {
    rmSync(file);
    writeFileSync(file, "another file");
  },
};

test.each(Object.keys(ways) as (keyof typeof ways)[])(
  "a book %s in mid-drive is told within a second and goes on beside, whole",
  async (way) => {
    const file = join(folder, "day.gripbook");
    const { packets } = shortDrive([{ kind: "stand", seconds: 2 }, { kind: "launch" }, { kind: "stand", seconds: 5 }]);
    const bytes = packets.reduce((sum, packet) => sum + packet.bytes.length, 0);
    const endUs = (packets.at(-1)?.arrivalUs ?? 0) + 100_000;
    const driven = driveCore({ file, packets: [...packets], alwaysArmed: true });
    const told = () => driven.events.flatMap((event) => (event.event === "notice" && event.key === "book-file" ? [event.text] : []));
    driven.driveTo(endUs / 2);
    ways[way](file);
    driven.driveTo(endUs / 2 + 1e6);
    expect(told()).toEqual([
      expect.stringMatching(/^Book .*day\.gripbook IS NO LONGER THERE: it was moved, deleted or replaced while recording/),
    ]);
    await vi.waitFor(() => expect(told()).toHaveLength(2), PATIENCE);
    const beside = join(folder, "day-goes-on.gripbook");
    expect(told()[1]).toContain(`is in ${beside}, and goes on there`);
    driven.driveTo(endUs);
    await driven.core.close();
    expect(driven.book.file).toBe(beside);
    driven.book.close();
    const book = openSqliteBook({ file: beside, create: false });
    expect([...book.packets(1)].reduce((sum, packet) => sum + packet.bytes.length, 0)).toBe(bytes);
    expect(book.runs().map(({ final }) => final)).toEqual([true]);
    expect(checkBook(book, gatesOf(book)).faults).toEqual([]);
    book.close();
    expect(readdirSync(folder).filter((name) => name.endsWith("-owner") || name.includes("goes-on-"))).toEqual([]);
  },
);

test("a second name of the book is told once, while it lasts", async () => {
  const file = join(folder, "day.gripbook");
  const { packets } = shortDrive([{ kind: "stand", seconds: 4 }]);
  const driven = driveCore({ file, packets: [...packets] });
  driven.driveTo(1e6);
  linkSync(file, join(folder, "other"));
  driven.driveTo(4e6);
  const told = driven.events.flatMap((event) => (event.event === "notice" && event.key === "book-file" ? [event.text] : []));
  expect(told).toEqual([expect.stringMatching(/day\.gripbook HAS GOT A SECOND NAME \(a hard link\): open it by neither/)]);
  await driven.core.close();
  driven.book.close();
  rmSync(join(folder, "other"));
  const book = openSqliteBook({ file, create: false });
  expect(book.recordings()).toHaveLength(1);
  book.close();
});

test("a book that goes in the last half second is whole beside when the recording is closed", async () => {
  const file = join(folder, "day.gripbook");
  const { packets } = shortDrive([{ kind: "stand", seconds: 4 }]);
  const bytes = packets.reduce((sum, packet) => sum + packet.bytes.length, 0);
  const driven = driveCore({ file, packets: [...packets] });
  driven.driveTo((packets.at(-1)?.arrivalUs ?? 0) + 100_000);
  rmSync(file);
  await driven.core.close();
  driven.book.close();
  const book = openSqliteBook({ file: join(folder, "day-goes-on.gripbook"), create: false });
  expect([...book.packets(1)].reduce((sum, packet) => sum + packet.bytes.length, 0)).toBe(bytes);
  expect(book.recordings()).toMatchObject([{ state: "closed", derived: true }]);
  book.close();
});
