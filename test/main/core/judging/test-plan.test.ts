/**
 * What the book's runs have shown of a plan's gates: the length that the plan asks for. Rule: docs/design.md, safety (way + stop at 0.5 g +
 * 50 %); kinematics in closed form.
 */
import { KMH_AND_M, saidIn } from "../../../../src/shared/kernel/shown-units.ts";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { expect, test } from "vitest";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import { drawPlan } from "../../../../src/main/core/judging/test-plan.ts";
import { runWrite, START } from "../../adapters/sqlite/book-run.fixture.ts";

const STOP_FROM_MPS = 26.8224;
/** 200 m to 60 mph, then braking at 8 m/s2: v²/2a further on. */
const WAY_M = 200;
const BRAKING_M = STOP_FROM_MPS ** 2 / (2 * 8);

test("a plan of a stop gate sees the runs that stopped: their way to where the braking began stands in its length, not an assumed one", () => {
  const folder = mkdtempSync(join(tmpdir(), "gripbook-"));
  const book = openSqliteBook({ file: join(folder, "day.gripbook"), create: true });
  const request = { groups: ["off", "on"], runsPerGroup: 4, gates: ["60-0 mph"], usableLengthM: 1, runOffNote: "grass", seed: 3 };
  const refusal = () => {
    try {
      drawPlan(book, request);
      return "drawn";
    } catch (error) {
      return String(error);
    }
  };
  expect(refusal()).toMatch(/assumed until a run shows it/);
  const recording = book.startRecording(START).id;
  const { samples, figures, ...run } = runWrite(recording);
  book.addRun({
    ...run,
    figures: {
      ...figures,
      gates: [{ gate: "60-0 mph", start: "entry", seconds: STOP_FROM_MPS / 8, plusMinus95: 0.02, atS: 7.52, distanceM: BRAKING_M }],
    },
    samples: { ...samples, distanceM: Float64Array.from([0, WAY_M, WAY_M + BRAKING_M]) },
  });
  const said = saidIn(KMH_AND_M, refusal());
  expect(said).toContain(`${WAY_M} m to 60-0 mph`);
  expect(said).not.toMatch(/assumed/);
  // 73 m to stop from 60 mph at 0.5 g (docs/design.md).
  expect(said).toContain(`${Math.ceil(1.5 * (WAY_M + 73.35) - 0.5)} m needed`);
  book.close();
  rmSync(folder, { recursive: true, force: true });
});
