/**
 * What the program itself notes with a run (the setting of the simulated car's control) is among the run's conditions like a person's own
 * notes.
 */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { expect, test } from "vitest";
import { controlFrom, controlNotes } from "../../../src/shared/simulation/control-text.ts";
import { driveCore, shortDrive } from "../../support/driven-core.ts";

test("a run of the simulated car carries its control's setting", { timeout: 120_000 }, async () => {
  const folder = mkdtempSync(join(tmpdir(), "gripbook-"));
  const { packets } = shortDrive([
    { kind: "gentle", seconds: 20 },
    { kind: "launch", toKmh: 60 },
    { kind: "stand", seconds: 4 },
  ]);
  const endUs = packets.at(-1)?.arrivalUs ?? 0;
  const alsoNoted = controlNotes(controlFrom("slip=0.11,late=0.02"));
  const driven = driveCore({ file: join(folder, "day.gripbook"), packets, alsoNoted });
  driven.driveTo(1e6);
  await driven.core.answers["drive.arm"]({});
  driven.driveTo(endUs + 1e6);
  await driven.core.close();
  const [run] = driven.book.runs();
  expect(run?.conditions).toMatchObject({ "control slip": "11 %", "control delay": "20 ms" });
  driven.book.close();
  rmSync(folder, { recursive: true, force: true });
});
