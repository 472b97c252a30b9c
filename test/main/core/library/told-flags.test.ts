/** Flags as the book tells them: group flags from other runs, overruled with a note, undone, merged; and files kept by their SHA-256 (FIPS 180-4, by Node's own digest). */
import type { RequestArgument } from "../../../../src/shared/contract/contract.ts";
import { createHash } from "node:crypto";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import { FILE_CONDITION, hashIn, readyToKeep } from "../../../../src/main/core/library/kept-files.ts";
import { judgedRuns } from "../../../../src/main/core/judging/judged-runs.ts";
import { rowsOf, viewOf } from "../../../../src/main/core/library/library.ts";
import { merge } from "../../../../src/main/core/deriving/merge.ts";
import { runEditAnswers } from "../../../../src/main/core/library/run-requests.ts";
import { overrule } from "../../../../src/main/core/library/told-flags.ts";
import type { Book } from "../../../../src/main/ports/book.ts";
import { addTimedRuns } from "../../../support/timed-book.ts";

const folder = mkdtempSync(join(tmpdir(), "gripbook-flags-"));
let book: Book;
const edits = (utcUs: number) => runEditAnswers({ book, utcUs: () => utcUs, edited: () => undefined });
beforeAll(() => {
  addTimedRuns(join(folder, "day.gripbook"), [
    { label: "off", seconds: 5, courseDeg: 74 },
    { label: "off", seconds: 5.1, courseDeg: 254 },
    { label: "off", seconds: 5.2, courseDeg: 74 },
  ]);
  book = openSqliteBook({ file: join(folder, "day.gripbook"), create: false });
});
afterAll(() => {
  book.close();
  rmSync(folder, { recursive: true });
});

const flagsOf = (run: number) =>
  rowsOf(book)
    .find(({ id }) => id === run)
    ?.flags.map(({ flag, overruled }) => [flag, overruled]);

test("a run without a partner the other way is told so in the list, in its view and to the judge; nothing of it is stored", () => {
  expect(flagsOf(1)).toEqual([]);
  expect(flagsOf(3)).toEqual([["unpaired", undefined]]);
  expect(viewOf(book, 3).run.flags.map(({ flag }) => flag)).toEqual(["unpaired"]);
  expect(judgedRuns(book, "0-60 mph", "movement").map(({ flags }) => flags.length)).toEqual([0, 0, 1]);
  expect(book.run(3).figures.flags).toEqual([]);
});

test("overruled with a note: shown with it, no longer held against the run, taken back by its undo; only what the run carries, never without a note", async () => {
  const { undo } = await edits(1)["run.overrule"]({ run: 3, flag: "unpaired", note: " level strip, no wind " });
  expect(flagsOf(3)).toEqual([["unpaired", "level strip, no wind"]]);
  expect(judgedRuns(book, "0-60 mph", "movement")[2]?.flags).toEqual([]);
  expect(book.edits(3)).toContainEqual({ run: 3, what: "overruled unpaired", before: null, after: "level strip, no wind", utcUs: 1 });
  await edits(2)["run.overrule"](undo.argument as RequestArgument<"run.overrule">);
  expect(flagsOf(3)).toEqual([["unpaired", undefined]]);
  expect(() => overrule(book, 3, "slope", "flat", 3)).toThrow('Run 3 carries no flag "slope": it has no return run');
  expect(() => overrule(book, 3, "unpaired", "  ", 3)).toThrow("Expected a note");
});

test("a kept file comes back by its hash, once however often it is kept, and goes along when books are merged", async () => {
  const bytes = new TextEncoder().encode("slip_target 6\n");
  (await readyToKeep({ name: "limits.par", bytes }))(book, 1, 4);
  await edits(5)["runs.file"]({ runs: [2], name: "same.par", base64: Buffer.from(bytes).toString("base64") });
  const sha256 = createHash("sha256").update(bytes).digest("hex");
  expect(book.run(1).conditions[FILE_CONDITION]).toBe(`limits.par sha256:${sha256}`);
  expect(hashIn(book.run(2).conditions[FILE_CONDITION] ?? "")).toBe(sha256);
  expect(Buffer.from(book.keptFile(sha256)?.bytes ?? []).toString()).toBe("slip_target 6\n");
  overrule(book, 3, "unpaired", "level", 6);
  const other = openSqliteBook({ file: join(folder, "other.gripbook"), create: true });
  merge(book, other, 7);
  expect(other.keptFile(sha256)?.name).toBe("limits.par");
  expect(other.runs().map(({ overruled }) => overruled)).toEqual([{}, {}, { unpaired: "level" }]);
  other.close();
  await expect(readyToKeep({ name: "big.par", bytes: new Uint8Array(4_000_001) })).rejects.toThrow("at most 4 MB");
});
