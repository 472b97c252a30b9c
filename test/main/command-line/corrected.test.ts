/**
 * docs/design.md, shape: a corrected radius corrects old runs, also where nothing could be calibrated; an own gate times existing runs, and
 * the book stays sound.
 */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import type { RunView } from "../../../src/shared/contract/contract.ts";
import { gripbook, gripbookJson } from "../../support/run-gripbook.ts";

/** One launch and no gentle driving: the calibration must refuse. */
const PLAN = {
  segments: [
    { kind: "launch", toKmh: 105, standS: 3 },
    { kind: "stand", seconds: 4 },
  ],
};

let folder = "";
const inFolder = (name: string) => join(folder, name);
const book = () => inFolder("a.gripbook");
const radius = async () => (await gripbookJson<RunView>("show", "1", "--book", book())).calibration;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
  writeFileSync(inFolder("plan.json"), JSON.stringify(PLAN));
  await gripbookJson("simulate", "--out", folder, "--seed", "4", "--plan", inFolder("plan.json"));
  const setUp = JSON.parse(readFileSync(inFolder("setup.json"), "utf8")) as { car: object };
  for (const [name, rollingRadiusM] of [
    ["wrong", 0.34],
    ["right", 0.324],
  ] as const)
    writeFileSync(inFolder(`${name}.json`), JSON.stringify({ ...setUp, car: { ...setUp.car, rollingRadiusM } }));
  const logs = ["--slcan", inFolder("bus.slcan"), "--gnss", inFolder("receiver.nmea")];
  await gripbookJson("import", "--setup", inFolder("wrong.json"), "--book", book(), ...logs);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

test("a corrected radius takes the place of the earlier set-up's where none was calibrated, once", async () => {
  expect((await radius()).rollingRadiusM).toMatchObject({ value: 0.34, from: "set-up" });
  await gripbookJson("rederive", "--book", book(), "--setup", inFolder("right.json"));
  const corrected = await radius();
  expect(corrected.rollingRadiusM).toMatchObject({ value: 0.324, from: "set-up" });
  await gripbookJson("rederive", "--book", book(), "--setup", inFolder("right.json"));
  expect((await radius()).id).toBe(corrected.id);
});

test("a gate of one's own times stored runs at once, and check finds nothing", async () => {
  await gripbookJson("gates", "--book", book(), "--add", "mine", "--from", "20 km/h", "--to", "80 km/h");
  const { gates } = await gripbookJson<RunView>("show", "1", "--book", book());
  expect(gates.find((gate) => gate.gate === "mine")?.seconds).toBeGreaterThan(0);
  expect((await gripbook("check", "--book", book())).code).toBe(0);
});
