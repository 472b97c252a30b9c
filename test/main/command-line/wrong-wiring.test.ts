/**
 * A wrong wiring is a state of the book: named at import, shown by every command until it is repaired, and no time that rests on it is stored.
 * Truth: the simulator's truth.json.
 */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import type { RunRow, RunView } from "../../../src/shared/contract/contract.ts";
import type { DayTruth } from "../../../src/shared/simulation/simulate-day.ts";
import { gripbook, gripbookJson } from "../../support/run-gripbook.ts";

const DAY = {
  segments: [
    { kind: "stand", seconds: 4 },
    { kind: "gentle", seconds: 90 },
    { kind: "launch", toKmh: 105, standS: 4, label: "traction control off", tractionControl: false },
    { kind: "launch", toKmh: 105, standS: 4 },
    { kind: "stand", seconds: 5 },
  ],
};

let folder = "";
let truth: DayTruth;
let trueSetUp: { car: { gearRatio: number }; signals: Record<string, unknown> };
const inFolder = (name: string) => join(folder, name);
const logs = (receiver = "receiver.nmea") => ["--slcan", inFolder("bus.slcan"), "--gnss", inFolder(receiver)];
const sixty = ({ gates }: { gates: readonly { gate: string; start: string; seconds: number | null; why?: string }[] }) =>
  gates.find(({ gate, start }) => gate === "0-60 mph" && start === "movement");

function writeSetUp(name: string, change: (setUp: typeof trueSetUp) => unknown): string {
  writeFileSync(inFolder(name), JSON.stringify(change(structuredClone(trueSetUp))));
  return inFolder(name);
}

const swapped = (setUp: typeof trueSetUp) => ({
  ...setUp,
  signals: { ...setUp.signals, torqueRequest: setUp.signals.torqueDelivered, torqueDelivered: setUp.signals.torqueRequest },
});

/** Every time of the book within 50 ms of the truth. */
async function expectTrueTimes(book: string): Promise<void> {
  const views = await gripbookJson<RunView[]>("show", "all", "--book", book);
  expect(views).toHaveLength(truth.runs.length);
  views.forEach((view, i) => {
    const wanted = sixty(truth.runs[i] as never)?.seconds as number;
    expect(Math.abs((sixty(view)?.seconds ?? Number.NaN) - wanted)).toBeLessThan(0.05);
  });
}

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
  writeFileSync(inFolder("plan.json"), JSON.stringify(DAY));
  await gripbookJson("simulate", "--out", folder, "--seed", "9", "--plan", inFolder("plan.json"));
  truth = JSON.parse(readFileSync(inFolder("truth.json"), "utf8")) as DayTruth;
  trueSetUp = JSON.parse(readFileSync(inFolder("setup.json"), "utf8")) as typeof trueSetUp;
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

test("a right day is silent everywhere", async () => {
  const book = inFolder("right.gripbook");
  const imported = await gripbook("import", "--setup", inFolder("setup.json"), "--book", book, ...logs());
  expect(imported.err).not.toContain("Wrong wiring");
  expect((await gripbook("check", "--book", book)).out).toMatch(/^Sound/);
  await expectTrueTimes(book);
});

test("swapped torques: told at import, by runs, show, check and report; no time is stored; repaired by a set-up and --recalibrate", async () => {
  const book = inFolder("swapped.gripbook");
  const imported = await gripbook("import", "--setup", writeSetUp("swapped.json", swapped), "--book", book, ...logs());
  expect(imported.code).toBe(0);
  expect(imported.err).toMatch(/Wrong wiring in recording 1: torque asked and delivered: .*above the asked one.*swap the two signals/);
  for (const command of [["runs"], ["show", "all"], ["check"]]) {
    const told = await gripbook(...command, "--book", book);
    expect(told.out + told.err).toContain("Wrong wiring in recording 1");
  }
  const [row] = await gripbookJson<RunRow[]>("runs", "--book", book);
  expect(row).toMatchObject({ seconds: null });
  expect(row?.flags.map(({ flag }) => flag)).toContain("wiring");
  const shown = await gripbookJson<RunView>("show", "1", "--book", book);
  expect(sixty(shown)?.why).toContain("wrong wiring");
  expect((await gripbook("report", "--book", book, "--out", inFolder("swapped.html"))).code).toBe(0);
  expect(readFileSync(inFolder("swapped.html"), "utf8")).toContain("Wrong wiring in recording 1");

  const repaired = await gripbook("rederive", "--book", book, "--setup", inFolder("setup.json"), "--recalibrate");
  expect(repaired.code).toBe(0);
  expect(repaired.err).not.toContain("Wrong wiring");
  expect((await gripbook("check", "--book", book)).out).toMatch(/^Sound/);
  await expectTrueTimes(book);
});

test("a gear ratio 5 % off is named against the marking; its calibration is not kept in silence: nothing is stored until --recalibrate", async () => {
  const book = inFolder("geared.gripbook");
  const wrong = writeSetUp("geared.json", (setUp) => ({
    ...setUp,
    car: { ...setUp.car, gearRatio: Math.round(105 * setUp.car.gearRatio) / 100 },
  }));
  const imported = await gripbook("import", "--setup", wrong, "--book", book, ...logs());
  expect(imported.err).toMatch(
    /gear ratio or tyre: the rolling radius .* over the marking .*with a gear ratio of [89]\.[0-9]+ in place of/,
  );
  const before = await gripbookJson<RunView>("show", "1", "--book", book);

  const refused = await gripbook("rederive", "--book", book, "--setup", inFolder("setup.json"));
  expect(refused.code).toBe(1);
  expect(refused.out).toMatch(/Recording 1: its calibration was fitted with the mistake: radius 0\.3[0-9]+ m/);
  expect(refused.err).toContain("Not derived: recording 1; give the same command with --recalibrate");
  expect(await gripbookJson<RunView>("show", "1", "--book", book)).toEqual(before);

  const repaired = await gripbook("rederive", "--book", book, "--setup", inFolder("setup.json"), "--recalibrate");
  expect(repaired).toMatchObject({ code: 0 });
  expect(repaired.err).not.toContain("Wrong wiring");
  await expectTrueTimes(book);
});

test("a receiver log 20 s late is named with its shift, and --align brings the true times, at import and afterwards", async () => {
  const late = readFileSync(inFolder("receiver.nmea"), "latin1").replaceAll(/^\((\d+)/gm, (_, s: string) => `(${Number(s) + 20}`);
  writeFileSync(inFolder("late.nmea"), late, "latin1");
  const book = inFolder("late.gripbook");
  const imported = await gripbook("import", "--setup", inFolder("setup.json"), "--book", book, ...logs("late.nmea"));
  expect(imported.err).toMatch(/receiver against bus: the receiver's speed comes (20\.[0-3]|19\.[7-9]) s late.*rederive --align/);
  for (const row of await gripbookJson<RunRow[]>("runs", "--book", book)) expect(row.seconds).toBeNull();
  const aligned = await gripbook("rederive", "--book", book, "--align");
  expect(aligned).toMatchObject({ code: 0 });
  expect(aligned.err).not.toContain("Wrong wiring");
  expect((await gripbook("check", "--book", book)).out).toMatch(/^Sound/);
  await expectTrueTimes(book);

  const once = inFolder("at-once.gripbook");
  const atOnce = await gripbook("import", "--align", "--setup", inFolder("setup.json"), "--book", once, ...logs("late.nmea"));
  expect(atOnce.err).not.toContain("Wrong wiring");
  await expectTrueTimes(once);
});
