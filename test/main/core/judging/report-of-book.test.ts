/** The report's list of changes, as a reader meets it: in words, not by the names and numbers that the book keeps. */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import { setOwnGates } from "../../../../src/main/core/judging/own-gates.ts";
import { reportOf } from "../../../../src/main/core/judging/report-of-book.ts";
import { setCurrentPlan, usePlan } from "../../../../src/main/core/judging/test-plan.ts";
import { addShift } from "../../../../src/main/core/library/recorded-packets.ts";
import { MOST_WHOLE } from "../../../../src/shared/report/shown-runs.ts";
import { addTimedRuns, WORKED_EXAMPLE } from "../../../support/timed-book.ts";

let folder = "";
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-report-"));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

test("an overruled flag is told in its words", async () => {
  const file = join(folder, "day.gripbook");
  addTimedRuns(file, WORKED_EXAMPLE);
  const book = openSqliteBook({ file, create: false });
  try {
    book.setOverruled(1, "slowReceiver", "checked against the other receiver", 2);
    const { html } = await reportOf(book, { softwareVersion: "0", utcUs: 3 });
    expect(html).toContain("overruled slow receiver");
    expect(html).not.toContain("slowReceiver");
  } finally {
    book.close();
  }
});

test("a season of which no run is used is reported, without advice", async () => {
  const file = join(folder, "season.gripbook");
  const ids = addTimedRuns(
    file,
    Array.from({ length: MOST_WHOLE + 1 }, (_, i) => ({ label: "off", seconds: 4.3 + 0.01 * i })),
  );
  const book = openSqliteBook({ file, create: false });
  try {
    for (const id of ids) book.setReview(id, { use: false, note: "wind" }, 2);
    const { html } = await reportOf(book, { softwareVersion: "0", utcUs: 3 });
    expect(html).toContain("wind");
  } finally {
    book.close();
  }
});

/** Cells of the list of changes, without the time. */
function changesOf(html: string): string[][] {
  const section = /<h2>What was changed<\/h2>(.*?)<\/section>/s.exec(html)?.[1] ?? "";
  return [...section.matchAll(/<tr><th scope="row">.*?<\/th>(.*?)<\/tr>/gs)].map(([, row = ""]) =>
    [...row.matchAll(/<td[^>]*>(.*?)<\/td>/gs)].map(([, cell = ""]) => cell),
  );
}

test("whatever was changed is told in words: plans, gates, tyres, gains, logs, set-ups", async () => {
  const file = join(folder, "changed.gripbook");
  addTimedRuns(file, WORKED_EXAMPLE);
  const book = openSqliteBook({ file, create: false });
  try {
    const plan = { groups: ["off", "on"], runsPerGroup: 6, gates: ["0-60 mph"], usableLengthM: 900, runOffNote: "grass", seed: 7 };
    const { stored } = usePlan(book, plan, 1);
    usePlan(book, { ...plan, runsPerGroup: 4, seed: 8 }, 2);
    setCurrentPlan(book, null, 3);
    setOwnGates(book, [{ kind: "standing", name: "to 50", toMps: 50 / 3.6 }], 4);
    setOwnGates(
      book,
      [
        { kind: "standing", name: "to 50", toMps: 55 / 3.6 },
        { kind: "distance", name: "start", distanceM: 20 },
      ],
      5,
    );
    addShift(book, 1, 3.2, 6);
    book.setSetting("tyres", { tyres: "new ones", pressureKpa: 220 }, 7);
    book.setSetting("calibration-tyres", { 3: { tyres: "new ones", pressureKpa: null } }, 8);
    const gain = { gate: "0-60 mph", from: "off", to: "on", gainS: 0.12, plusMinus95: 0.05, afterRun: 12, utcUs: 9 };
    book.setSetting("expected gains", [gain], 9);
    book.setSetting("expected gains", [gain, { ...gain, to: "tight", plusMinus95: null }], 10);
    book.replaceSetUp(1, { ...book.recording(1).setUp, text: `${book.recording(1).setUp.text} ` }, 11);
    expect(stored.id).toBe(1);
    const { html } = await reportOf(book, { softwareVersion: "0", utcUs: 12 });
    expect(changesOf(html)).toEqual([
      ["all", "plan", "nothing", "off and on, 6 runs a group, seed 7"],
      ["all", "plan", "off and on, 6 runs a group, seed 7", "off and on, 4 runs a group, seed 8"],
      ["all", "plan", "off and on, 4 runs a group, seed 8", "nothing"],
      ["all", "own gates", "nothing", "to 50: standing to 50.0 km/h"],
      ["all", "own gates", "to 50: standing to 50.0 km/h", "to 50: standing to 55.0 km/h; start: standing to 20 m"],
      ["all", "receiver log moved onto the bus log", "nothing", "recording 1: by 3.200 s"],
      ["all", "tyres", "nothing", "new ones, 220 kPa"],
      ["all", "tyres at a calibration", "nothing", "calibration 3: new ones, pressure not noted"],
      ["all", "expected gain", "nothing", "0-60 mph, off to on: 0.12 s ± 0.05"],
      ["all", "expected gain", "nothing", "0-60 mph, off to tight: 0.12 s ± unknown"],
      ["all", "set-up of recording 1", "the one before", "another one"],
    ]);
  } finally {
    book.close();
  }
});
