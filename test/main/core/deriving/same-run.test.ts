/**
 * One calibrated drive, four ways to its run: live, imported from the exported logs, derived again, calibrated again. All must agree to the
 * byte (docs/design.md, Shape), and a wall clock that jumps an hour during the drive must change nothing (docs/design.md, Time). The
 * outside reference is the other way.
 */
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import type { RunView } from "../../../../src/shared/contract/contract.ts";
import { carSetUp, carSignalFile } from "../../../../src/shared/simulation/car-files.ts";
import { driveCore, shortDrive } from "../../../support/driven-core.ts";
import { gripbook, gripbookJson } from "../../../support/run-gripbook.ts";

const HOUR_S = 3600;
let folder = "";
const inFolder = (name: string) => join(folder, name);

/** Everything but the ids and names that a book gives. */
function comparable(views: readonly RunView[]): string {
  return JSON.stringify(
    views.map((view) => {
      const { id: _id, label: _label, ...run } = view.run;
      const { id: _calibration, ...calibration } = view.calibration;
      return { ...view, run, calibration };
    }),
  );
}

async function driveAndClose(file: string, jump: boolean): Promise<void> {
  const { packets } = shortDrive([{ kind: "gentle", seconds: 120 }, { kind: "launch" }, { kind: "launch", tractionControl: false }]);
  const driven = driveCore({ file, packets, alwaysArmed: true });
  const endUs = (packets.at(-1)?.arrivalUs ?? 0) + 100_000;
  driven.driveTo(endUs / 2);
  if (jump) {
    const steady = driven.clock.utcUs.bind(driven.clock);
    driven.clock.utcUs = () => steady() - HOUR_S * 1e6;
  }
  driven.driveTo(endUs);
  await driven.core.close();
  driven.book.close();
}

const showAll = (book: string) => gripbookJson<RunView[]>("show", "all", "--book", inFolder(book));

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
  writeFileSync(inFolder("setup.json"), JSON.stringify(carSetUp({ frontWheelSensors: true, rearWheelSensors: true, stamps: true })));
  writeFileSync(inFolder("car.dbc"), carSignalFile());
  await driveAndClose(inFolder("live.gripbook"), false);
});

afterAll(() => rmSync(folder, { recursive: true, force: true }));

test("a calibrated run is the same to the byte live, imported, derived again and calibrated again", async () => {
  const live = await showAll("live.gripbook");
  expect(live).toHaveLength(2);
  expect(live.every((view) => view.run.final && view.calibration.rollingRadiusM.from === "calibrated")).toBe(true);
  for (const format of ["slcan", "nmea"])
    await gripbook("export", "all", "--book", inFolder("live.gripbook"), "--as", format, "--out", inFolder("logs"));
  const logs = ["--slcan", inFolder("logs/recording-1.slcan"), "--gnss", inFolder("logs/recording-1.nmea")];
  await gripbookJson("import", "--setup", inFolder("setup.json"), "--book", inFolder("imported.gripbook"), ...logs);
  expect(comparable(await showAll("imported.gripbook"))).toBe(comparable(live));
  await gripbookJson("rederive", "--book", inFolder("live.gripbook"));
  expect(comparable(await showAll("live.gripbook"))).toBe(comparable(live));
  await gripbookJson("rederive", "--book", inFolder("imported.gripbook"), "--recalibrate");
  expect(comparable(await showAll("imported.gripbook"))).toBe(comparable(live));
});

test("a wall clock that jumps back an hour in mid-drive changes no figure", async () => {
  await driveAndClose(inFolder("jumped.gripbook"), true);
  expect(comparable(await showAll("jumped.gripbook"))).toBe(comparable(await showAll("live.gripbook")));
});
