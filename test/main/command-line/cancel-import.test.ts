/**
 * A cancelled import ends in order with what was stored by then, and says so; a killed one leaves a sound book. Importing again continues
 * to the same runs.
 */
import { existsSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import type { RunView } from "../../../src/shared/contract/contract.ts";
import { gripbook, gripbookJson, startGripbook } from "../../support/run-gripbook.ts";

function blocksIn(file: string): number {
  if (!existsSync(file)) return 0;
  const db = new Database(file, { readonly: true });
  try {
    return (db.prepare("SELECT count(*) AS n FROM journal").get() as { n: number }).n;
  } catch {
    // The tables are made a moment after the file.
    return 0;
  } finally {
    db.close();
  }
}

/** What `check` says, also where it finds faults: a test that fails names them. */
async function checked(file: string): Promise<unknown> {
  const { out, err } = await gripbook("check", "--book", file, "--json");
  return out === "" ? err : JSON.parse(out);
}

const timesOf = async (file: string) =>
  (await gripbookJson<readonly RunView[]>("show", "all", "--book", file)).map(({ run, gates, slip }) => ({ run, gates, slip }));

/** Long enough that storing it is still going on when somebody stops it. */
const LONG_PLAN = {
  segments: [
    { kind: "gentle", seconds: 120 },
    ...Array.from({ length: 8 }, () => ({ kind: "launch", standS: 6, toKmh: 110 })),
    { kind: "gentle", seconds: 200 },
  ],
};
/** What was stored when it was stopped is less than nearly all of it. */
const LONG_S = 500;

test("import cancelled keeps the first part as a closed recording, says how much it is, and leaves a sound book", async () => {
  const folder = mkdtempSync(join(tmpdir(), "gripbook-stopped-"));
  try {
    const plan = join(folder, "plan.json");
    writeFileSync(plan, JSON.stringify(LONG_PLAN));
    await gripbookJson("simulate", "--out", folder, "--seed", "5", "--plan", plan);
    const book = join(folder, "day.gripbook");
    const logs = ["--slcan", join(folder, "bus.slcan"), "--gnss", join(folder, "receiver.nmea")];
    const running = startGripbook("import", "--setup", join(folder, "setup.json"), "--book", book, ...logs, "--json");
    await expect.poll(() => blocksIn(book), { timeout: 120_000, interval: 5 }).toBeGreaterThan(100);
    running.child.kill("SIGINT");
    const { code, err, out } = await running.ended;
    expect(code).toBe(0);
    const stored = Number(
      /^Stopped: the book holds the first (\d+) s of these logs; import them once more to have the rest/m.exec(err)?.[1],
    );
    expect(stored).toBeGreaterThan(10);
    expect(stored).toBeLessThan(LONG_S);
    expect((JSON.parse(out) as { runs: unknown[] }).runs.length).toBeLessThan(8);
    expect(await checked(book)).toMatchObject({ faults: [], recordings: 1 });
    // Once more into the same book: it goes on, and ends with what an import without a stop gives.
    const importInto = (file: string, ...more: string[]) =>
      gripbook("import", "--setup", join(folder, "setup.json"), "--book", file, ...logs, ...more);
    expect((await importInto(book, "--label", "other")).err).toMatch(/first part of these logs with another label: give that one to go on/);
    const goneOn = await importInto(book);
    expect(goneOn).toMatchObject({
      code: 0,
      err: expect.stringMatching(/Recording 1 holds the first part of these logs: the import goes on/),
    });
    const whole = join(folder, "whole.gripbook");
    await importInto(whole);
    const wholeRuns = await timesOf(whole);
    expect(wholeRuns).toHaveLength(8);
    expect(await timesOf(book)).toEqual(wholeRuns);
    expect(await checked(book)).toMatchObject({ faults: [], recordings: 1, runs: 8 });
    expect((await importInto(book)).err).toMatch(/in the book already, as recording 1/);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
});

/** A short day: what a killed import leaves does not depend on its length. */
const SHORT_PLAN = {
  segments: [
    { kind: "stand", seconds: 4 },
    { kind: "gentle", seconds: 90 },
    ...Array.from({ length: 3 }, () => ({ kind: "launch", standS: 3, toKmh: 110 })),
    { kind: "stand", seconds: 5 },
  ],
};

describe("an import that is killed", () => {
  let folder = "";
  let given: string[] = [];
  /** What an import without a kill gives. */
  let blocks = 0;
  let wholeRuns: unknown = [];
  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), "gripbook-killed-"));
    const plan = join(folder, "plan.json");
    writeFileSync(plan, JSON.stringify(SHORT_PLAN));
    await gripbookJson("simulate", "--out", folder, "--plan", plan);
    given = ["--setup", join(folder, "setup.json"), "--slcan", join(folder, "bus.slcan"), "--gnss", join(folder, "receiver.nmea")];
    const whole = join(folder, "whole.gripbook");
    await gripbook("import", "--book", whole, ...given);
    blocks = blocksIn(whole);
    wholeRuns = await timesOf(whole);
  });
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  test.each(["storing", "deriving"])("while %s, given once more, ends with what an import without a kill gives", async (when) => {
    const book = join(folder, `${when}.gripbook`);
    const running = startGripbook("import", "--book", book, ...given);
    const atLeast = when === "storing" ? blocks / 2 : blocks;
    await expect.poll(() => blocksIn(book), { timeout: 120_000, interval: 2 }).toBeGreaterThanOrEqual(atLeast);
    running.child.kill("SIGKILL");
    expect((await running.ended).code).toBeNull();
    await gripbook("import", "--book", book, ...given);
    expect(await timesOf(book)).toEqual(wholeRuns);
    expect(await checked(book)).toMatchObject({ faults: [], recordings: 1, runs: 3 });
  });
});
