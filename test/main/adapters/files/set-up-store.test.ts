/**
 * A set-up file written by the screens: read back by the product's own strict reader, the old file or the new one, and nobody's signal file
 * overwritten.
 */
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { createSetUpStore } from "../../../../src/main/adapters/files/set-up-store.ts";
import { openSetUp } from "../../../../src/main/compose.ts";
import { checkDraft, checkSetUp } from "../../../../src/shared/setup/check-set-up.ts";
import { EMPTY_DRAFT, missingOf, missingOfCar, wholeOf } from "../../../../src/shared/setup/draft-set-up.ts";
import { draftText } from "../../../../src/shared/setup/set-up-text.ts";
import { carSetUp, carSignalFile } from "../../../../src/shared/simulation/car-files.ts";

const WHOLE = carSetUp({ frontWheelSensors: true, rearWheelSensors: false, stamps: true });

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-store-"));
});
afterEach(() => rmSync(folder, { recursive: true }));

test("createSetUpStore() begins empty where no file is, and writes what the command line reads", () => {
  const store = createSetUpStore(join(folder, "deep", "new.json"));
  expect(store.read().draft).toEqual(EMPTY_DRAFT);
  const draft = checkDraft(WHOLE);
  expect(store.addSignalFile("car.dbc", carSignalFile())).toBe("car.dbc");
  store.write(draftText({ ...draft, signals: { ...draft.signals, motorSpeed: { signal: "MotorState.MotorSpeed", invert: true } } }));
  const { setUp, stored } = openSetUp(store.file);
  expect(setUp.signals.motorSpeed).toEqual({ signal: "MotorState.MotorSpeed", invert: true });
  expect(JSON.parse(stored.text).signals.pedal).toBe("DriverInputs.PedalPosition");
  expect(stored.signalFiles[0].text).toBe(carSignalFile());
  expect(readdirSync(join(folder, "deep")).sort()).toEqual(["car.dbc", "new.json"]);
});

test("addSignalFile() leaves another file of that name alone, and takes the same one again as it is", () => {
  const store = createSetUpStore(join(folder, "new.json"));
  writeFileSync(join(folder, "car.dbc"), "somebody's");
  expect(store.addSignalFile("car.dbc", "ours")).toBe("car-2.dbc");
  expect(store.addSignalFile("car.dbc", "ours")).toBe("car-2.dbc");
  expect(readFileSync(join(folder, "car.dbc"), "utf8")).toBe("somebody's");
});

test("read() gives the file's own text with what it says", () => {
  const file = join(folder, "hand.json");
  const byHand = `\n${JSON.stringify(WHOLE, null, 7)}\n`;
  writeFileSync(file, byHand);
  const store = createSetUpStore(file);
  expect(store.read()).toEqual({ text: byHand, draft: checkDraft(WHOLE) });
});

test("read() and write() say in one line what is wrong with the file or its folder", () => {
  const file = join(folder, "bad.json");
  writeFileSync(file, "{ nope");
  expect(() => createSetUpStore(file).read()).toThrow(/^Set-up .*bad\.json: no JSON at line 1, column 3; correct it there$/);
  writeFileSync(file, JSON.stringify({ car: { massKg: 3 } }));
  expect(() => createSetUpStore(file).read()).toThrow(/car\.massKg: expected a mass in kg from 100 to 10000, got 3/);
  writeFileSync(file, JSON.stringify({ wheels: 4 }));
  expect(() => createSetUpStore(file).read()).toThrow(/unknown key "wheels"/);
  const under = createSetUpStore(join(file, "inside.json"));
  expect(() => under.write("{}")).toThrow(/bad\.json: a file of that name is there already/);
  expect(readdirSync(folder)).toEqual(["bad.json"]);
});

test.each([".bashrc", "-rf", "a\nb.dbc", "\u001b[2J.dbc", "../car.dbc", "a/b.dbc"])(
  "addSignalFile() writes nothing under the name %j",
  (name) => {
    const store = createSetUpStore(join(folder, "deep", "new.json"));
    expect(() => store.addSignalFile(name, "text")).toThrow(/^Signal file: expected a plain file name[^\n]*$/);
    expect(existsSync(join(folder, "deep"))).toBe(false);
  },
);

test("write() and addSignalFile() go through no link that lies where they are known to write (CWE-59)", () => {
  const mine = join(folder, "mine");
  writeFileSync(mine, "mine");
  for (const name of ["new.json.part", "car.dbc.part", "car.dbc"])
    symlinkSync(name === "car.dbc" ? join(folder, "not-there") : mine, join(folder, name));
  const store = createSetUpStore(join(folder, "new.json"));
  expect(store.addSignalFile("car.dbc", "ours")).toBe("car-2.dbc");
  store.write("{}");
  expect(readFileSync(mine, "utf8")).toBe("mine");
  expect(existsSync(join(folder, "not-there"))).toBe(false);
  symlinkSync(mine, join(folder, "linked.json"));
  expect(() => createSetUpStore(join(folder, "linked.json")).write("{}")).toThrow(/linked\.json is a link: name the file itself/);
  expect(readFileSync(mine, "utf8")).toBe("mine");
});

test("missingOf() asks for one thing after the other, and for nothing once the strict reader is content", () => {
  const { car, sources, database, signals } = checkDraft(WHOLE);
  const steps = [
    EMPTY_DRAFT,
    { ...EMPTY_DRAFT, database },
    { ...EMPTY_DRAFT, database, sources: { gnss: sources.gnss } },
    { ...EMPTY_DRAFT, database, sources },
    { car, database, sources, signals: {} },
    { car, database, sources, signals },
  ];
  expect(steps.map((draft) => missingOf(JSON.parse(JSON.stringify(draft))))).toEqual([
    "signal file",
    "receiver",
    "adapter",
    "car",
    "signals",
    null,
  ]);
  expect(missingOfCar(EMPTY_DRAFT)).toHaveLength(5);
  // What is whole is what the strict reader makes of the same text.
  expect(wholeOf({ car, sources, database, signals })).toEqual(checkSetUp(WHOLE));
  expect(checkSetUp(WHOLE).car.name).toBe("Odrel");
});
