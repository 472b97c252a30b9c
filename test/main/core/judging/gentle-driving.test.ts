/** Gentle driving found in a recorded day by the core's own way. Truth: the simulated car's parameters, which the product never sees. */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { gentleDriving } from "../../../../src/main/core/judging/gentle-driving.ts";
import { type DrivenCore, driveCore, shortDrive } from "../../../support/driven-core.ts";

let folder = "";
let driven: DrivenCore;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
  const { packets } = shortDrive([{ kind: "gentle", seconds: 60 }, { kind: "launch" }]);
  driven = driveCore({ file: join(folder, "day.gripbook"), packets, alwaysArmed: true });
  driven.driveTo((packets.at(-1)?.arrivalUs ?? 0) + 100_000);
});

afterAll(() => {
  driven.book.close();
  rmSync(folder, { recursive: true });
});

test("a recording that still runs is left alone; closed, its gentle driving is there, read once", { timeout: 300_000 }, async () => {
  const { book, core } = driven;
  const ids = book.recordings().map(({ id }) => id);
  expect(await gentleDriving(book, ids)).toEqual([]);
  await core.close();
  const units = await gentleDriving(book, [...ids, ...ids]);
  const speeds = units.flatMap(({ speedMps }) => Array.from(speedMps));
  // 60 s between about 30 and 80 km/h, half of it pulling or coasting; the launch is not gentle.
  expect(speeds.length).toBeGreaterThan(10);
  expect(Math.max(...speeds)).toBeLessThan(90 / 3.6);
  for (const { torqueNm } of units) expect(Math.min(...torqueNm)).toBeGreaterThan(-1);
  // What torque gives is what the motion took: 1,480 kg, geared 9.04, with drag, rolling and the axle's spin (car-parameters.ts), within a few per cent.
  for (const { accelerationMps2: a, torqueNm, speedMps: v, spinRadps2 } of units) {
    a.forEach((mps2, i) => {
      const forceN = (torqueNm[i] * 9.04 * 0.975 - 5.9 * spinRadps2[i]) / 0.324;
      expect(Math.abs(mps2 - (forceN - 0.6 * 0.62 * v[i] ** 2) / 1480 + 0.0115 * 9.80665)).toBeLessThan(0.1);
    });
  }
  const again = await gentleDriving(book, ids);
  expect(again[0]).toBe(units[0]);
});

test("runs of no recording have none", async () => {
  expect(await gentleDriving(driven.book, [])).toEqual([]);
});
