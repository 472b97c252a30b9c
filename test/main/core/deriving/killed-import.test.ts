/**
 * An import that is killed after any commit, given once more: the book is what an undisturbed import leaves, to every figure, sample and name. A process that
 * is killed leaves what it had committed (sqlite.org/atomiccommit.html), so that an import that is left after a step stands for it. The outside reference
 * is the undisturbed import.
 */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { crc32 } from "node:zlib";
import { afterAll, beforeAll, expect, test } from "vitest";
import { createLaunchThreads } from "../../../../src/main/adapters/host/launch-threads.ts";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import { readSetUp } from "../../../../src/main/core/basics/read-set-up.ts";
import { checkBook } from "../../../../src/main/core/deriving/check-book.ts";
import { importRecording, noteMissing, restOf } from "../../../../src/main/core/deriving/import-recording.ts";
import { recover, recovery } from "../../../../src/main/core/deriving/recover.ts";
import { rederiveOne } from "../../../../src/main/core/deriving/rederive.ts";
import { gatesOf } from "../../../../src/main/core/judging/own-gates.ts";
import type { Book } from "../../../../src/main/ports/book.ts";
import { drain } from "../../../../src/shared/kernel/drain.ts";
import { ALONE, type LaunchTeam } from "../../../../src/shared/pipeline/launch-team.ts";
import { carSetUp, carSignalFile } from "../../../../src/shared/simulation/car-files.ts";
import { shortDrive } from "../../../support/driven-core.ts";

const LABEL = "map 3";
const ready = readSetUp(
  {
    text: JSON.stringify(carSetUp({ frontWheelSensors: true, rearWheelSensors: true, stamps: true })),
    signalFiles: [{ name: "car.dbc", text: carSignalFile() }],
  },
  "Set-up of the test",
);
const packets = shortDrive([
  { kind: "gentle", seconds: 30 },
  { kind: "launch", standS: 3, toKmh: 105 },
  { kind: "launch", standS: 3, toKmh: 105 },
]).packets.map(({ stream, arrivalUs, bytes }) => ({ stream, arrivalNs: arrivalUs * 1000, bytes }));

let folder = "";
let whole: unknown = null;
let steps = 0;

const importInto = (book: Book, team: LaunchTeam = ALONE) => {
  const common = {
    ready,
    uid: "log",
    origin: "import",
    canFormat: "slcan",
    baseUtcUs: 0,
    label: LABEL,
    gates: gatesOf(book),
    team,
  } as const;
  const known = book.recordings().find(({ uid }) => uid === common.uid);
  if (known === undefined) return importRecording({ book, ...common, packets });
  const rest = restOf(book, known, { ready, label: LABEL, packets });
  return rest === null ? null : importRecording({ book, ...common, packets: rest, into: known.id });
};

/** All that a run says, except which fit its calibration was: its name, its times and a checksum of the rest. */
const contents = (book: Book) =>
  book.runs().map(({ calibration: _fit, ...run }) => {
    const { uid, figures } = run;
    return { uid, label: run.label, fromS: figures.windowFromS, all: crc32(JSON.stringify([run, book.samples(run.id)])) };
  });

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
  const book = openSqliteBook({ file: join(folder, "whole.gripbook"), create: true });
  const importing = importInto(book);
  for (let step = importing?.next(); step?.done === false; step = importing?.next()) if (step.value.doing === "storing") steps += 1;
  whole = contents(book);
  book.close();
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

test("left in a launch, left again after the last commit, and given once more, it is the undisturbed one, to the names of its runs", () => {
  expect(steps).toBeGreaterThan(5);
  const book = openSqliteBook({ file: join(folder, "left.gripbook"), create: true });
  for (const more of [steps - 3, 3]) {
    const importing = importInto(book);
    for (let step = 0; step < more; step += 1) importing?.next();
    recover(book, gatesOf(book));
  }
  expect(importInto(book)).toBeNull();
  expect(checkBook(book, gatesOf(book)).faults).toEqual([]);
  expect(contents(book)).toEqual(whole);
  book.close();
});

test("timed side by side, an import that was left among its launches, derived later and derived again, is the undisturbed one", () => {
  const told: string[] = [];
  const team = createLaunchThreads({ threads: 1, fewestLaunches: 1, onTrouble: (text) => told.push(text) });
  const book = openSqliteBook({ file: join(folder, "beside.gripbook"), create: true });
  const importing = importInto(book, team);
  for (let step = importing?.next(); step?.done === false && step.value.derived < 0.8; step = importing?.next());
  expect(book.runs()).toEqual([]);
  drain(recovery(book, gatesOf(book)).derive(team));
  expect(contents(book)).toEqual(whole);
  for (const recording of book.recordings())
    rederiveOne(book, recording, { setUp: null, recalibrate: true, align: false, utcUs: 1, team }, () => undefined);
  expect(contents(book)).toEqual(whole);
  expect(told).toEqual([]);
  book.close();
  team.close();
});

test("what an import was to note and did not, as it was killed before, is noted where nothing stands", () => {
  const book = openSqliteBook({ file: join(folder, "whole.gripbook"), create: false });
  book.setConditions(1, { surface: "damp" }, 1);
  const noted = () => book.runs().map(({ conditions }) => ({ ...conditions }));
  expect(noteMissing(book, 1, { surface: "wet", tyre: "new", wind: null }, 2)).toBe(2);
  expect(noted()).toEqual([
    { surface: "damp", tyre: "new" },
    { surface: "wet", tyre: "new" },
  ]);
  expect(noteMissing(book, 1, { surface: "dry" }, 3)).toBe(0);
  book.close();
});
