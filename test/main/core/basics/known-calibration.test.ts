/** Which calibration a new recording starts from, over a real book: the rule is Car's own sentence ("Calibration 1, driven ..."), no published source. */
import Database from "better-sqlite3";
import { ask } from "../../../support/ask.ts";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import { knownCalibration } from "../../../../src/main/core/basics/known-calibration.ts";
import { carSetUp, carSignalFile } from "../../../../src/shared/simulation/car-files.ts";
import { driveCore, shortDrive } from "../../../support/driven-core.ts";
import { CALIBRATION } from "../../../support/timed-book.ts";

/** A closed recording of this set-up, without a calibration. */
function addRecording(file: string, uid: string, text: string): void {
  const book = openSqliteBook({ file, create: true });
  const { id } = book.startRecording({ uid, origin: "live", baseUtcUs: 1.9e15, canFormat: "slcan", setUp: { text, signalFiles: [] } });
  book.closeRecording(id, "closed");
  book.markDerived(id);
  book.close();
}

/** As a page that cannot be read takes rows away, or another program does. */
function spoil(file: string, sql: string): void {
  const db = new Database(file);
  db.pragma("foreign_keys = OFF");
  db.exec(sql);
  db.close();
}

const drive = shortDrive([{ kind: "stand", seconds: 8 }]);
const setUp = {
  text: JSON.stringify(carSetUp({ frontWheelSensors: true, rearWheelSensors: true, stamps: true })),
  signalFiles: [{ name: "car.dbc", text: carSignalFile() }],
};

let folder = "";
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

test("a recording too short to calibrate takes nothing away from the calibration that Car names", async () => {
  const file = join(folder, "a.gripbook");
  const book = openSqliteBook({ file, create: true });
  const { id } = book.startRecording({ uid: "morning", origin: "live", baseUtcUs: 1.9e15, canFormat: "slcan", setUp });
  book.addCalibration(id, CALIBRATION);
  book.closeRecording(id, "closed");
  book.markDerived(id);
  book.close();

  const short = driveCore({ file, packets: drive.packets });
  short.driveTo(3e6);
  await short.core.close();
  expect(short.book.newestCalibration(2)?.calibration.rollingRadiusM.from).toBe("set-up");
  expect(knownCalibration(short.book, setUp.text)).toMatchObject({ id: 1, recording: 1 });
  expect(knownCalibration(short.book, "{}")).toBeNull();
  short.book.close();

  const next = driveCore({ file, packets: drive.packets });
  next.driveTo(6e6);
  const rows = await ask(next.core, "before.read", {});
  expect(rows.find(({ key }) => key === "calibration")?.words).toContain("0.3240 ± 0.0004 m");
  await next.core.close();
  next.book.close();
});

test("a set-up that cannot be read keeps no byte of a new recording out, and no calibration that is known from the rest", async () => {
  const file = join(folder, "a.gripbook");
  const calibrated = openSqliteBook({ file, create: true });
  const { id } = calibrated.startRecording({ uid: "morning", origin: "live", baseUtcUs: 1.9e15, canFormat: "slcan", setUp });
  calibrated.addCalibration(id, CALIBRATION);
  calibrated.closeRecording(id, "closed");
  calibrated.markDerived(id);
  calibrated.close();
  addRecording(file, "noon", "{}");
  addRecording(file, "evening", "[]");
  spoil(file, "DELETE FROM set_up WHERE id = 2");

  const driven = driveCore({ file, packets: drive.packets });
  driven.driveTo(0.5e6);
  await driven.core.close();
  expect(driven.book.recordings().length).toBe(4);
  // The last beat was 5 ms before.
  expect([...driven.book.packets(4)].length).toBe(drive.packets.filter(({ arrivalUs }) => arrivalUs <= 0.495e6).length);
  expect(knownCalibration(driven.book, setUp.text)).toMatchObject({ id: 1, recording: 1 });
  driven.book.close();
});
