/** `simulate` then `import`: exactly the day's launches among its six decoys, then everything a person does with stored runs. Truth: the simulator's truth.json. */
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import { afterAll, beforeAll, expect, test } from "vitest";
import type { RunRow, RunView } from "../../../src/shared/contract/contract.ts";
import type { DayTruth } from "../../../src/shared/simulation/simulate-day.ts";
import { gripbook, gripbookJson } from "../../support/run-gripbook.ts";

/** Enough to calibrate, and a launch each way of the switch. */
const SHORT_DAY = {
  segments: [
    { kind: "gentle", seconds: 45 },
    { kind: "launch", toKmh: 105, standS: 3, label: "traction control off", tractionControl: false },
    { kind: "launch", toKmh: 105, standS: 3 },
    { kind: "stand", seconds: 4 },
  ],
};

let folder = "";
let truth: DayTruth;
let views: RunView[] = [];
const inFolder = (name: string) => join(folder, name);
const shortLogs = () => ["--slcan", inFolder("short/bus.slcan"), "--gnss", inFolder("short/receiver.nmea")];
/** The short day's book, which most tests work on. */
const book = () => inFolder("short.gripbook");

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
  writeFileSync(inFolder("plan.json"), JSON.stringify(SHORT_DAY));
  await gripbookJson("simulate", "--out", folder, "--seed", "5");
  await gripbookJson("simulate", "--out", inFolder("short"), "--seed", "6", "--plan", inFolder("plan.json"));
  truth = JSON.parse(readFileSync(inFolder("truth.json"), "utf8")) as DayTruth;
  const logs = ["--slcan", inFolder("bus.slcan"), "--gnss", inFolder("receiver.nmea")];
  await gripbookJson("import", "--setup", inFolder("setup.json"), "--book", inFolder("day.gripbook"), ...logs);
  await gripbookJson("import", "--setup", inFolder("short/setup.json"), "--book", book(), ...shortLogs());
  views = await gripbookJson<RunView[]>("show", "all", "--book", inFolder("day.gripbook"));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

test("import finds exactly the day's launches, none split, no decoy, each named by its switch", () => {
  expect(truth.runs).toHaveLength(12);
  expect(views.map((view) => view.run.label)).toEqual(truth.runs.map((run) => run.label));
  views.forEach((view, i) => {
    const apartS = (Date.parse(view.run.startedAt as string) - Date.parse(truth.runs[i]?.movementUtc as string)) / 1000;
    expect(Math.abs(apartS)).toBeLessThan(0.25);
    expect(view.run.final).toBe(true);
  });
});

test("every 0-60 mph lies within 50 ms of the truth, and the radius is calibrated", () => {
  for (const [i, view] of views.entries()) {
    const find = <T extends { gate: string; start: string }>(gates: readonly T[]) =>
      gates.find((gate) => gate.gate === "0-60 mph" && gate.start === "movement");
    const trueS = find(truth.runs[i]?.gates ?? [])?.seconds as number;
    expect(Math.abs((find(view.gates)?.seconds as number) - trueS)).toBeLessThan(0.05);
    expect(view.calibration.rollingRadiusM.from).toBe("calibrated");
  }
});

test("the same logs once more are refused, and nothing is doubled", async () => {
  const again = await gripbook("import", "--setup", inFolder("short/setup.json"), "--book", book(), ...shortLogs());
  expect(again.code).toBe(2);
  expect(again.err.trim()).toMatch(/^These logs are in the book already, as recording 1/);
  expect(await gripbookJson<RunRow[]>("runs", "--book", book())).toHaveLength(2);
});

test("label, conditions and review keep what stood before, and rederive keeps them all with id and uid", async () => {
  await gripbookJson("label", "2", "slip target 8 %", "--book", book());
  await gripbookJson("conditions", "2", "surface=damp", "slip target=10 -> 8 %", "--book", book());
  await gripbookJson("review", "2", "--use", "no", "--note", "a gust", "--book", book());
  const before = await gripbookJson<RunView>("show", "2", "--book", book());
  expect(before.run).toMatchObject({
    label: "slip target 8 %",
    use: false,
    note: "a gust",
    conditions: { surface: "damp", "slip target": "10 -> 8 %" },
  });
  await gripbookJson("rederive", "--book", book());
  expect(await gripbookJson<RunView>("show", "2", "--book", book())).toEqual(before);
  const db = new Database(book(), { readonly: true });
  expect(db.prepare("SELECT count(*) FROM edit WHERE run = 2").pluck().get()).toBe(3);
  db.close();
});

test("check finds the book sound, and names a run whose figures were changed by hand", async () => {
  expect((await gripbook("check", "--book", book())).out).toMatch(/^Sound: 1 recordings, 2 runs/);
  await gripbookJson("copy", "--book", book(), "--out", inFolder("changed.gripbook"));
  const db = new Database(inFolder("changed.gripbook"));
  db.exec("UPDATE sample SET groundSpeedMps = groundSpeedMps + 0.001 WHERE run = 1 AND row = 700");
  db.close();
  const { code, out } = await gripbook("check", "--book", inFolder("changed.gripbook"));
  expect(code).toBe(1);
  expect(out).toMatch(/^run 1: samples\.groundSpeedMps\.700 differs from what its journal gives; run rederive/m);
});

test("check names a changed sample by its checksum and by its journal", async () => {
  await gripbookJson("copy", "--book", book(), "--out", inFolder("apart.gripbook"));
  const db = new Database(inFolder("apart.gripbook"));
  db.exec("UPDATE sample SET slipRatio = 0.5 WHERE run = 1 AND row = 700");
  db.close();
  const { code, out } = await gripbook("check", "--book", inFolder("apart.gripbook"));
  expect(code).toBe(1);
  expect(out).toMatch(/^run 1: its samples are not what was written: .*; run rederive, which computes them again from the journal$/m);
  expect(out).toMatch(/^run 1: samples\.slipRatio\.700 differs from what its journal gives; run rederive$/m);
  expect(out).not.toMatch(/^run 2/m);
});

test("export writes CSV with names and a row each 10 ms from 2 s before the start, and units beside it", async () => {
  await gripbookJson("export", "1", "--book", book(), "--as", "csv", "--out", inFolder("run.csv"));
  const [names, first, second] = readFileSync(inFolder("run.csv"), "utf8")
    .split("\r\n")
    .map((line) => line.split(","));
  expect(names?.slice(0, 10)).toEqual(
    "timeS,groundSpeedKmh,wheelSpeedKmh,slipSpeedKmh,slipRatio,torqueRequestNm,torqueDeliveredNm,pedalPercent,distanceM,accelerationMps2".split(
      ",",
    ),
  );
  expect(names).toContain("undrivenWheelSpeeds.1");
  const columns: unknown[] = JSON.parse(readFileSync(inFolder("run.csv-metadata.json"), "utf8")).tableSchema.columns;
  expect(columns).toHaveLength(names?.length ?? 0);
  expect(columns[1]).toEqual({ titles: "groundSpeedKmh", "schema:unitText": "km/h" });
  expect(Number(first?.[0])).toBeCloseTo(-2, 1);
  expect(Number(second?.[0]) - Number(first?.[0])).toBeCloseTo(0.01, 6);
  await gripbookJson("export", "all", "--book", book(), "--as", "csv", "--out", inFolder("all"));
  expect(readdirSync(inFolder("all")).sort()).toEqual(["csv-metadata.json", "run-1.csv", "run-2.csv"]);
});

test("a bus log as candump writes it gives the same launches; merge takes another book's runs with their notes, and not twice", async () => {
  const into = inFolder("candump.gripbook");
  const logs = ["--can", inFolder("short/bus.log"), "--gnss", inFolder("short/receiver.nmea"), "--label", "one group"];
  await gripbookJson("import", "--setup", inFolder("short/setup.json"), "--book", into, ...logs);
  const rows = await gripbookJson<RunRow[]>("runs", "--book", into);
  expect(rows.map((row) => row.label)).toEqual(["one group", "one group"]);
  const day = inFolder("day.gripbook");
  await gripbookJson("label", "2", "slip target 8 %", "--book", day);
  await gripbookJson("review", "2", "--use", "no", "--note", "a gust", "--book", day);
  expect(await gripbookJson("merge", day, "--book", into)).toMatchObject({ recordings: 1, runs: 12, alreadyHere: 0 });
  expect(await gripbookJson("merge", day, "--book", into)).toMatchObject({ recordings: 0, runs: 0, alreadyHere: 12 });
  const merged = await gripbookJson<RunView[]>("show", "all", "--book", into);
  expect(merged).toHaveLength(14);
  expect(merged.find((view) => view.run.label === "slip target 8 %")?.run).toMatchObject({ use: false, note: "a gust" });
});

test("export --as parquet adds the runs to an archive", async () => {
  expect(await gripbookJson("export", "all", "--book", book(), "--as", "parquet", "--out", inFolder("archive"))).toMatchObject({
    runs: 2,
    runsInArchive: 2,
  });
  expect(existsSync(inFolder("archive/runs.parquet"))).toBe(true);
});
