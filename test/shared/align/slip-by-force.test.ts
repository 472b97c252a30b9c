// Slip stiffness from torque and motor speed alone, on drives of known stiffness: level, and on rolling roads.
import { describe, expect, test } from "vitest";
import { alignRecording } from "../../../src/shared/align/align-recording.ts";
import { buildDriveGrid } from "../../../src/shared/align/drive-grid.ts";
import { fitSlipByForce } from "../../../src/shared/align/slip-by-force.ts";
import { typicalSlip } from "../../../src/shared/align/slip-curve.ts";
import { gentleDrive, SET_UP } from "./gentle-drive.ts";

const KNOWN = typicalSlip(1e-4, 4e-5);

function fitted(seed: number, hills?: { slope: number; hillM: number }) {
  const options = { seed, seconds: 122, rateHz: 10, undriven: false, jitter: "small" as const, truth: {} };
  const { tracks, truth } = gentleDrive(hills === undefined ? options : { ...options, hills });
  const grid = buildDriveGrid(alignRecording(tracks, SET_UP), SET_UP, { radiusM: truth.radiusM, undriven: 1 });
  const found = grid === null ? null : fitSlipByForce(grid, SET_UP, truth.radiusM, KNOWN);
  if (found === null) throw new Error("Expected a fit, got none");
  const sigma = Math.sqrt(found.covariance[0]) / truth.slipPerNm;
  return { share: found.mean[0] / truth.slipPerNm - 1, sigma };
}

describe("fitSlipByForce()", () => {
  test("knows slip stiffness to a few per cent on a level road", () => {
    for (let seed = 60; seed < 68; seed++) {
      const { share, sigma } = fitted(seed);
      expect(Math.abs(share)).toBeLessThan(0.05);
      expect(sigma).toBeLessThan(0.04);
    }
  });

  test("leaves more open on a rolling road, where a slope passes for force", () => {
    // This generator's driver holds the speed on any slope, which is the worst case for torque.
    let squares = 0;
    for (let seed = 60; seed < 72; seed++) {
      const { share, sigma } = fitted(seed, { slope: 0.01, hillM: 80 });
      expect(sigma).toBeGreaterThan(0.03);
      squares += (share / sigma) ** 2 / 12;
    }
    expect(squares).toBeLessThan(2);
  });

  test("keeps to what is known where the drive is too short", () => {
    const { tracks } = gentleDrive({ seed: 3, seconds: 14, rateHz: 10, undriven: false, jitter: "small", truth: {} });
    const grid = buildDriveGrid(alignRecording(tracks, SET_UP), SET_UP, { radiusM: 0.33, undriven: 1 });
    expect(grid).not.toBeNull();
    if (grid !== null) expect(fitSlipByForce(grid, SET_UP, 0.33, KNOWN)).toBeNull();
  });
});
