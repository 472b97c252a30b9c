/**
 * The list before driving as a screen asks for it, overruled with a note that is stored with every run; and arming that stops when the
 * planned runs are in.
 */
import { ask } from "../../../support/ask.ts";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { usePlan } from "../../../../src/main/core/judging/test-plan.ts";
import type { BeforeRow, LiveEvent } from "../../../../src/shared/contract/contract.ts";
import { type DrivenCore, driveCore, shortDrive } from "../../../support/driven-core.ts";

let folder = "";
let driven: DrivenCore | null = null;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-before-"));
});
afterEach(() => {
  driven?.book.close();
  rmSync(folder, { recursive: true, force: true });
});

const read = async ({ core }: DrivenCore) => await ask(core, "before.read", {});
const states = (rows: readonly BeforeRow[]) => Object.fromEntries(rows.map(({ key, state }) => [key, state]));
const launch = (more: object = {}) => ({ kind: "launch", standS: 3, toKmh: 70, ...more });

test("fills as the car is driven; a note overrules a line, an empty one does not, and a run keeps what was open and overruled", async () => {
  const { packets, truth } = shortDrive([
    { kind: "stand", seconds: 4 },
    { kind: "gentle", seconds: 60 },
    launch(),
    { kind: "stand", seconds: 5 },
  ]);
  driven = driveCore({ file: join(folder, "a.gripbook"), packets });
  const { core } = driven;
  core.beat();
  expect(states(await read(driven))).toMatchObject({ fix: "open", bus: "open", signs: "open", calibration: "open", antenna: "open" });
  driven.driveTo(3e6);
  expect(states(await read(driven))).toMatchObject({ fix: "green", bus: "green", signs: "open", calibration: "wrong" });
  driven.driveTo(64e6);
  expect(states(await read(driven))).toMatchObject({
    fix: "green",
    bus: "green",
    signs: "green",
    calibration: "green",
    clock: "green",
    disk: "open",
    battery: "open",
  });
  await ask(core, "before.antenna", { fixed: true });
  await expect(ask(core, "before.overrule", { key: "battery", note: " " })).rejects.toThrow("Expected a note");
  const rows = await ask(core, "before.overrule", { key: "battery", note: "hangs on the car's 12 V" });
  expect(rows.find(({ key }) => key === "battery")).toMatchObject({ state: "open", overruled: "hangs on the car's 12 V" });
  expect(rows.find(({ key }) => key === "antenna")).toMatchObject({ state: "green", overruled: null });
  await ask(core, "drive.arm", {});
  driven.driveTo((packets.at(-1)?.arrivalUs ?? 0) + 1);
  await core.close();
  expect(truth.runs).toHaveLength(1);
  expect(driven.book.runs().map(({ final, conditions }) => [final, conditions])).toEqual([
    [true, { "before driving": "open: free disk; laptop battery overruled: hangs on the car's 12 V" }],
  ]);
  // What the program notes is no edit of a person's.
  expect(driven.book.edits(1)).toEqual([]);
});

test("armed again by itself until the planned runs are in, then idle until a person arms", async () => {
  const turn = [{ kind: "drive", metres: 30, kmh: 30 }, { kind: "turn" }];
  const { packets } = shortDrive([...Array.from({ length: 5 }, () => [launch(), ...turn]).flat(), { kind: "stand", seconds: 8 }]);
  driven = driveCore({ file: join(folder, "plan.gripbook"), packets });
  const request = {
    groups: ["off", "on"],
    runsPerGroup: 2,
    gates: ["0-30 mph"],
    directionNames: ["there", "back"],
    usableLengthM: 900,
    runOffNote: "grass",
    seed: 3,
  };
  usePlan(driven.book, request, 0);
  await ask(driven.core, "plan.current", { plan: 1 });
  await ask(driven.core, "drive.arm", {});
  driven.driveTo((packets.at(-1)?.arrivalUs ?? 0) + 1);
  // The fifth launch was driven unarmed.
  expect(driven.book.runs()).toHaveLength(4);
  const last = driven.events.filter((event): event is LiveEvent => event.event === "live").at(-1);
  expect(last).toMatchObject({ state: "idle", plan: { done: 4, total: 4 } });
});
