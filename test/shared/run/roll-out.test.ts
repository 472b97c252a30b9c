/** The line after a launch: its work grows only with its length (a dense matrix for a day would need 6 TB), and a silence stays unknown. */
import { expect, test } from "vitest";
import { rollOut } from "../../../src/shared/run/roll-out.ts";
import { EXACT_CALIBRATION, recordingOf } from "../launch/exact-launch.ts";

const FROM = { speedMps: 30, sigmaMps: 0.02 };
/** Braking at 6 m/s2 from 30 m/s. */
const braking = (t: number) => Math.max(0, 30 - 6 * (t - 10));

test("rollOut() over a day gives the start of a short one, and unknown where nothing was heard", () => {
  const recording = recordingOf(braking, 20, 10, 0.02);
  const [short, day] = [20, 86_400].map((toS) => rollOut(recording, EXACT_CALIBRATION, 10, toS, FROM));
  for (const t of [10.5, 12, 14]) {
    expect(day.at(t).speedMps).toBeCloseTo(short.at(t).speedMps, 3);
    expect(day.at(t).speedMps).toBeCloseTo(braking(t), 0);
    expect(day.at(t).sigmaMps).toBeCloseTo(short.at(t).sigmaMps, 5);
  }
  expect(day.at(43_200)).toEqual({ speedMps: Number.NaN, sigmaMps: Number.NaN });
});
