/** A copy made while a recording grew is sound: the recording is interrupted there and waits to be derived. No published source. */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import { checkBook } from "../../../../src/main/core/deriving/check-book.ts";
import { openBook } from "../../../../src/main/open-book.ts";
import { recordBook } from "../../../support/recorded-book.ts";

const folder = mkdtempSync(join(tmpdir(), "gripbook-copied-"));
const [file, copy] = [join(folder, "day.gripbook"), join(folder, "copy.gripbook")];
beforeAll(() => recordBook(file));
afterAll(() => rmSync(folder, { recursive: true }));

test("check finds no fault in a copy whose last recording was still growing, and says that it is not derived", () => {
  const day = openSqliteBook({ file, create: false });
  const { setUp } = day.recording(1);
  day.startRecording({ uid: "s", origin: "live", baseUtcUs: Date.UTC(2031, 4, 4, 11) * 1000, canFormat: "slcan", setUp });
  day.copyTo(copy);
  day.close();
  const { book } = openBook({ file: copy, create: false });
  const { faults, holes } = checkBook(book, []);
  expect(faults.filter((line) => line.includes("recording 2"))).toEqual([]);
  expect(holes).toContain("Recording 2: interrupted, and not derived yet; run rederive");
  // A recording that was closed and never derived is another matter.
  expect(faults).toEqual(["recording 1: not derived yet; run rederive"]);
  book.close();
});
