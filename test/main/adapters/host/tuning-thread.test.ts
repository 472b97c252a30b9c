/**
 * The tuning thread against the same answers computed here, compared as JSON. A question that fails is one line; a closed thread answers
 * nothing and says so.
 */
import { mkdtempSync, renameSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { startTuningThread } from "../../../../src/main/adapters/host/tuning-thread.ts";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import { tuningInline } from "../../../../src/main/core/judging/tuning-inline.ts";
import type { Tuning } from "../../../../src/main/ports/tuning.ts";
import { addTimedRuns, WORKED_EXAMPLE } from "../../../support/timed-book.ts";

let folder = "";
let place = { file: "" };
let tuning: Tuning;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
  place = { file: join(folder, "day.gripbook") };
  addTimedRuns(place.file, WORKED_EXAMPLE);
  tuning = startTuningThread(place);
});
afterEach(() => {
  tuning.close();
  rmSync(folder, { recursive: true, force: true });
});

const plain = (answer: unknown) => JSON.parse(JSON.stringify(answer));

test("a thread answers as this one would, of all groups and of one run", async () => {
  const book = openSqliteBook({ file: place.file, create: false });
  const here = tuningInline(book);
  expect(plain(await tuning.read({}))).toEqual(plain(await here.read({})));
  expect(plain(await tuning.run({ run: 2 }))).toEqual(plain(await here.run({ run: 2 })));
  expect(plain(await tuning.spin({ group: "on" }))).toEqual(plain(await here.spin({ group: "on" })));
  book.close();
});

test("what cannot be asked is one line, and the next question is answered all the same", async () => {
  await expect(tuning.read({ groups: ["nobody"] })).rejects.toThrow(/^No run is labelled "nobody"; there are /);
  expect((await tuning.read({ groups: ["on"] })).groups.map(({ label }) => label)).toEqual(["on"]);
});

test("a book that goes on in another file is read there", async () => {
  expect((await tuning.read({})).groups).toHaveLength(2);
  const moved = join(folder, "moved.gripbook");
  renameSync(place.file, moved);
  place.file = moved;
  addTimedRuns(moved, [{ label: "third", seconds: 4.7 }], "more");
  expect((await tuning.read({})).groups.map(({ label }) => label)).toContain("third");
});

test("closing rejects what is under way, and asking again starts another thread", async () => {
  const asked = tuning.read({});
  tuning.close();
  await expect(asked).rejects.toThrow("it was closed");
  expect((await tuning.read({})).groups).toHaveLength(2);
});

test("who asks is told how far it is; cancelled, the question is rejected with the reason, and the next one is answered", async () => {
  const heard: [string, number][] = [];
  const onStep = (words: string, share: number) => heard.push([words, share]);
  const view = await tuning.read({}, { signal: new AbortController().signal, onStep });
  expect(view.groups).toHaveLength(2);
  const shares = heard.map(([, share]) => share);
  expect(shares).toEqual(shares.toSorted((a, b) => a - b));
  expect(new Set(heard.map(([words]) => words))).toEqual(
    new Set(["Reading the runs", "Fitting the car", "Fitting the tyres", "Counting the lost time"]),
  );
  const controller = new AbortController();
  const asked = tuning.read({ gate: "0-60 mph" }, { signal: controller.signal, onStep });
  controller.abort(new RangeError("Cancelled"));
  await expect(asked).rejects.toThrow("Cancelled");
  expect((await tuning.read({})).groups).toHaveLength(2);
});
