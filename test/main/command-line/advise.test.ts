/** `advise` on the simulated car's bytes, the whole way. Truth: best slip 0.1802 and peak friction 1 of the published table that tyre-curve.test.ts names; the design's definitions. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { readCsv } from "../../../src/shared/report/read-csv.ts";
import type { TuneAnswer } from "../../../src/shared/tune/tune-answer.ts";
import { gripbook, gripbookJson } from "../../support/run-gripbook.ts";

const launch = (label: string, more: object) => ({ kind: "launch", toKmh: 105, standS: 3, label, rampS: 0.1, ...more });
const turn = [{ kind: "drive", metres: 200, kmh: 50 }, { kind: "turn" }];
const on = (slip: number) => launch("as set", { control: { slip } });
const off = launch("off", { tractionControl: false });
const DAYS = {
  both: [on(0.04), ...turn, off, ...turn, on(0.04), ...turn, off, ...turn, on(0.04)],
  cautious: [on(0.03), ...turn, on(0.03)],
  alone: [off],
};

let folder = "";
const inFolder = (name: string) => join(folder, name);
const book = (name: keyof typeof DAYS) => inFolder(`${name}.gripbook`);
const advise = (name: keyof typeof DAYS, ...more: string[]) => gripbookJson<TuneAnswer>("advise", "--book", book(name), ...more);

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
  for (const [name, launches] of Object.entries(DAYS)) {
    const segments = [{ kind: "gentle", seconds: 60 }, ...launches, { kind: "stand", seconds: 4 }];
    writeFileSync(inFolder("plan.json"), JSON.stringify({ segments }));
    const day = inFolder(name);
    await gripbookJson("simulate", "--out", day, "--seed", "11", "--plan", inFolder("plan.json"));
    const logs = ["--slcan", join(day, "bus.slcan"), "--gnss", join(day, "receiver.nmea")];
    await gripbookJson("import", "--setup", join(day, "setup.json"), "--book", book(name as keyof typeof DAYS), ...logs);
    const runs = await gripbookJson<{ id: number }[]>("runs", "--book", book(name as keyof typeof DAYS));
    // Otherwise the switch names the groups.
    const labels = launches.flatMap((one) => ("label" in one ? [(one as { label: string }).label] : []));
    for (const [i, { id }] of runs.entries())
      await gripbookJson("label", String(id), labels[i] ?? "", "--book", book(name as keyof typeof DAYS));
  }
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

test("advise gives car, grip, losses that add up, and one change with its test", async () => {
  const { car, grip, groups, advice } = await advise("both");
  expect(car?.fullTorqueNm.value).toBeGreaterThan(400);
  expect(car?.fullPowerW.value).toBeGreaterThan(240e3);
  expect(grip).toHaveLength(1);
  expect(Math.abs((grip[0]?.bestSlip?.value ?? 0) - 0.1802)).toBeLessThan(0.03);
  expect(groups.map(({ label }) => label)).toEqual(["as set", "off"]);
  for (const { losses, seconds, quickest, gate } of groups) {
    expect(gate).toBe("0-60 mph");
    expect(losses.map(({ cause }) => cause)).toEqual(["spin", "heldBack", "askedLate", "rest"]);
    const sum = losses.reduce((total, loss) => total + loss.seconds, 0);
    expect(sum).toBeCloseTo((seconds ?? 0) - (quickest?.value ?? 0), 9);
  }
  const lost = (label: string, cause: string) =>
    groups.find((group) => group.label === label)?.losses.find((loss) => loss.cause === cause)?.seconds ?? 0;
  expect(lost("off", "spin")).toBeGreaterThan(0.4);
  expect(lost("as set", "heldBack")).toBeGreaterThan(0.4);
  expect(advice).toHaveLength(1);
  expect(advice[0]).toMatchObject({ group: "as set", change: "moreSlip", unit: "1", test: { runsPerGroup: 6, gate: "0-60 mph" } });
  expect(Math.abs((advice[0]?.from ?? 0) - 0.04)).toBeLessThan(0.01);
});

test("a row a run has the same: grip, and each run's losses, whose means are the group's and which add up to its time", async () => {
  const { grip, groups } = await advise("both");
  const file = inFolder("runs.csv");
  await gripbookJson("export", "all", "--book", book("both"), "--as", "runs", "--out", file);
  const [names = [], ...cells] = readCsv(readFileSync(file, "utf8"));
  const rows = cells.map((row) => Object.fromEntries(row.map((cell, i) => [names[i], cell])));
  expect(rows).toHaveLength(5);
  for (const { label, quickest, losses } of groups) {
    const own = rows.filter((row) => row.label === label);
    const mean = (name: string) => own.reduce((sum, row) => sum + Number(row[name]), 0) / own.length;
    expect(mean("quickestS")).toBeCloseTo(quickest?.value ?? Number.NaN, 9);
    const columns = ["lostSpinS", "lostHeldBackS", "lostAskedLateS", "lostRestS"];
    for (const [i, column] of columns.entries()) expect(mean(column)).toBeCloseTo(losses[i]?.seconds ?? Number.NaN, 9);
    for (const row of own) {
      const lost = columns.reduce((sum, column) => sum + Number(row[column]), 0);
      expect(lost).toBeCloseTo(Number(row.seconds_0_60_mph) - Number(row.quickestS), 9);
      expect(row).toMatchObject({ lossGate: "0-60 mph", lossWhy: "", bestSlip: String(grip[0]?.bestSlip?.value) });
    }
  }
  await gripbookJson("export", "all", "--book", book("cautious"), "--as", "runs", "--out", inFolder("cautious.csv"));
  const [heads = [], first = []] = readCsv(readFileSync(inFolder("cautious.csv"), "utf8"));
  expect(first[heads.indexOf("lostSpinS")]).toBe("");
  expect(first[heads.indexOf("lossWhy")]).toContain("not reached");
});

test("a group and a gate can be named; an unknown one is one line that names those there are", async () => {
  const one = await advise("both", "--group", "as set", "--gate", "0-30 mph");
  expect(one.groups.map(({ label, gate }) => [label, gate])).toEqual([["as set", "0-30 mph"]]);
  const unknown = await gripbook("advise", "--book", book("both"), "--group", "nobody");
  expect(unknown).toMatchObject({ code: 2, out: "" });
  expect(unknown.err).toMatch(/^No run is labelled "nobody"; there are "as set", "off"\n$/);
  expect((await gripbook("advise", "--book", book("both"), "--gate", "0-31 mph")).code).toBe(2);
});

test("a day that never passed the peak claims none: not reached, no quickest, no advice, and what would show it", async () => {
  const { grip, groups, advice, silent } = await advise("cautious");
  expect(grip[0]).toMatchObject({ bestSlip: null, peakFriction: null });
  expect(grip[0]?.why).toContain("not reached");
  expect(groups[0]).toMatchObject({ quickest: null, losses: [] });
  expect(groups[0]?.atLeast?.losses.reduce((sum, { seconds }) => sum + seconds, 0)).toBeGreaterThan(0);
  expect(advice).toEqual([]);
  expect(silent.join()).toContain("not reached");
});

test("one run alone is told from, and advised on by nobody", async () => {
  const { groups, advice, silent } = await advise("alone");
  expect(groups[0]?.quickest).not.toBeNull();
  expect(advice).toEqual([]);
  expect(silent.join()).toContain("one run is too little");
});

test("in words: grip, each group's losses, the advice and what is left out", async () => {
  const { code, out } = await gripbook("advise", "--book", book("both"));
  expect(code).toBe(0);
  expect(out).toMatch(/^Grip, surface not noted: best slip \d+\.\d ± \d+\.\d %/);
  expect(out).toMatch(/as set, 0-60 mph: \d\.\d\d s; quickest possible \d\.\d\d ± \d\.\d\d s\. Lost: spun away/);
  expect(out).toMatch(/1\. as set: It holds .* change nothing else/);
  expect(out).toMatch(/off: the car's own switch was off in every run/);
});

test("what advise says for people begins each sentence with a capital, and no figure is less than nothing by rounding", async () => {
  const texts = await Promise.all((["both", "cautious", "alone"] as const).map((name) => gripbook("advise", "--book", book(name))));
  for (const { code, out } of texts) {
    expect(code).toBe(0);
    expect(out).toMatch(/0-60 mph: \d/);
    expect(out).not.toMatch(/[a-z)]\. [a-z]/);
    expect(out).not.toMatch(/[-\u2212]0\.0+\b/);
    expect(out).not.toMatch(/ -\d/);
  }
});
