/** Which calibration a new recording starts from, over a real book: the rule is Car's own sentence ("Calibration 1, driven ..."), no published source. */
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
