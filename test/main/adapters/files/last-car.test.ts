/** The last measured own car: remembered over starts with its set-up and book; what is gone or damaged is not offered. */
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { createLastCarNote } from "../../../../src/main/adapters/files/last-car.ts";
import { composeScreens, hostClock } from "../../../../src/main/compose.ts";

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-last-"));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const setUpOf = (name: string) => JSON.stringify({ car: { name }, sources: {}, database: [], signals: {} });

test("createLastCarNote() gives back what it noted, with the car's name as the set-up has it now", () => {
  const note = createLastCarNote(join(folder, "data", "last-car.json"));
  expect(note.read()).toBeNull();
  const setUpFile = join(folder, "odrel.json");
  writeFileSync(setUpFile, setUpOf("Odrel"));
  note.write({ setUpFile, bookFile: join(folder, "days.gripbook") });
  expect(note.read()).toEqual({ setUpFile, bookFile: join(folder, "days.gripbook"), car: "Odrel" });
  writeFileSync(setUpFile, setUpOf("Odrel, second motor"));
  expect(note.read()?.car).toBe("Odrel, second motor");
});

test("createLastCarNote() offers nothing where the set-up is gone, is none, or the note is spoiled", () => {
  const file = join(folder, "last-car.json");
  const setUpFile = join(folder, "odrel.json");
  const note = createLastCarNote(file);
  note.write({ setUpFile, bookFile: "b" });
  expect(note.read()).toBeNull();
  writeFileSync(setUpFile, "{");
  expect(note.read()).toBeNull();
  writeFileSync(file, "no JSON");
  expect(note.read()).toBeNull();
  expect(createLastCarNote(null).read()).toBeNull();
});

test("a start with a set-up is remembered, and the next one without any offers and opens it, with its book", async () => {
  const setUpFile = join(folder, "odrel.json");
  writeFileSync(setUpFile, setUpOf("Odrel"));
  const rememberFile = join(folder, "last-car.json");
  const common = { emit: () => undefined, clock: hostClock(), rememberFile };
  const own = composeScreens({ ...common, bookFile: join(folder, "days.gripbook"), setUpFile });
  await own.core.close();
  own.book.close();
  const next = composeScreens({ ...common, bookFile: join(folder, "simulated.gripbook"), setUpFile: null });
  const view = await next.core.request("book.open", {});
  expect(view).toMatchObject({ simulated: true, lastCar: { car: "Odrel", setUpFile } });
  expect(await next.core.request("wiring.own", {})).toEqual({ file: setUpFile });
  const opened = await next.core.request("book.open", {});
  expect(opened).toMatchObject({ simulated: false, bookFile: join(folder, "days.gripbook") });
  expect(opened.lastCar).toBeUndefined();
  await next.core.close();
  next.book.close();
});
