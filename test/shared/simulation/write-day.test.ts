/** The day's files: log forms by plain patterns, gpsdecode on the receiver's, and the same frames in both bus logs. */
import { execFileSync, spawnSync } from "node:child_process";
import { expect, test } from "vitest";
import { readPlan } from "../../../src/shared/simulation/read-plan.ts";
import { type DayFile, writeDay } from "../../../src/shared/simulation/write-day.ts";

const GPSDECODE = "/usr/bin/gpsdecode";
const hasGpsdecode = spawnSync(GPSDECODE, ["-V"]).error === undefined;
const LOG2ASC = "/usr/bin/log2asc";
const hasLog2asc = spawnSync(LOG2ASC, ["-h"]).error === undefined;
const files = new Map<DayFile, string>();
for (const chunk of writeDay({
  seed: 2,
  plan: readPlan(
    {
      segments: [
        { kind: "gentle", seconds: 15 },
        { kind: "launch", label: "nass, µ klein", toKmh: 110 },
      ],
    },
    2,
  ),
})) {
  files.set(chunk.file, (files.get(chunk.file) ?? "") + chunk.text);
}
const linesOf = (file: DayFile) => (files.get(file) as string).trimEnd().split("\n");

test("writeDay() writes both bus logs with the same frames at the same arrival", () => {
  const log = linesOf("bus.log");
  const slcan = linesOf("bus.slcan");
  expect(log.length).toBe(slcan.length);
  expect(log.length).toBeGreaterThan(15_000);
  for (const [i, line] of log.entries()) {
    const a = /^\((\d{10}\.\d{6})\) can0 ([0-9A-F]{3}|[0-9A-F]{8})#((?:[0-9A-F]{2}){0,8})$/.exec(line);
    const b = /^\((\d{10}\.\d{6})\) (?:t([0-9A-F]{3})|T([0-9A-F]{8}))(\d)((?:[0-9A-F]{2})*)[0-9A-F]{4}$/.exec(slcan[i] as string);
    expect([a?.[1], a?.[2], a?.[3]]).toEqual([b?.[1], b?.[2] ?? b?.[3], b?.[5]]);
    expect(a?.[3]?.length).toBe(2 * Number(b?.[4]));
  }
});

test.skipIf(!hasLog2asc)("writeDay(): can-utils' log2asc takes every line of bus.log", () => {
  const asc = execFileSync(LOG2ASC, ["can0"], { input: files.get("bus.log") as string, maxBuffer: 1 << 28 }).toString();
  expect(asc.split("\n").filter((line) => / Rx +d /.test(line)).length).toBe(linesOf("bus.log").length);
});

test.skipIf(!hasGpsdecode)("writeDay(): gpsdecode reads the receiver's log, stamps cut off, at 10 epochs a second", () => {
  const lines = (files.get("receiver.nmea") as string).split("\r\n").filter((line) => line !== "");
  for (const line of lines) expect(line).toMatch(/^\(\d{10}\.\d{6}\) \$GN(RMC|VTG|GGA|GSA|ZDA),[^\n]*\*[0-9A-F]{2}$/);
  const input = lines.map((line) => `${line.slice(line.indexOf("$"))}\r\n`).join("");
  const decoded = execFileSync(GPSDECODE, { input, maxBuffer: 1 << 26 }).toString();
  const times = decoded
    .split("\n")
    .filter((line) => line.includes('"class":"TPV"'))
    .map((line) => JSON.parse(line).time as string);
  const epochs = lines.filter((line) => line.includes("$GNRMC")).length;
  expect(new Set(times).size).toBeGreaterThan(0.98 * epochs);
});

test("writeDay() ends with the truth, and its set-up names only signals of its own signal file", () => {
  const truth = JSON.parse(files.get("truth.json") as string);
  expect(truth.runs).toHaveLength(1);
  expect(files.get("truth.json")).toMatch(/^[\x20-\x7e\n]*$/);
  expect(truth.runs[0].label).toBe("nass, µ klein");
  const dbc = files.get("car.dbc") as string;
  const setUp = JSON.parse(files.get("setup.json") as string);
  for (const name of Object.values<string | string[]>(setUp.signals).flat()) {
    const [message, signal] = name.split(".") as [string, string];
    expect(dbc).toMatch(new RegExp(`BO_ \\d+ ${message}: \\d [A-Za-z]+\\n(?: SG_ .*\\n)*? SG_ ${signal} `));
  }
});
