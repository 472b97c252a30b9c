// Guided calibration on drives of known content, and staleness on calibrations of known difference.
import { KMH_AND_M, saidIn } from "../../../src/shared/kernel/shown-units.ts";
import { describe, expect, test } from "vitest";
import { alignRecording } from "../../../src/shared/align/align-recording.ts";
import { calibrate } from "../../../src/shared/align/calibrate.ts";
import type { Calibration } from "../../../src/shared/align/calibration.ts";
import { calibrationProgress, stalenessOf } from "../../../src/shared/align/calibration-progress.ts";
import { nominalCalibration } from "../../../src/shared/align/nominal-calibration.ts";
import { gentleDrive, SET_UP } from "./gentle-drive.ts";

function progressOf(seconds: number, speeds?: readonly [number, number]) {
  const { tracks } = gentleDrive({
    seed: 21,
    seconds,
    rateHz: 10,
    undriven: true,
    jitter: "small",
    truth: {},
    ...(speeds === undefined ? {} : { speeds }),
  });
  const recording = alignRecording(tracks, SET_UP);
  return calibrationProgress(recording, SET_UP, calibrate(recording, SET_UP, null));
}

describe("calibrationProgress()", () => {
  test("asks for the slow part first, and shrinks the interval as the drive goes on", () => {
    const [early, middle, late] = [12, 60, 150].map((seconds) => progressOf(seconds));
    expect(early.next).toBe("slow");
    expect(early.good).toBe(false);
    expect(middle.share).toBeGreaterThan(early.share);
    expect(late.share).toBeGreaterThanOrEqual(middle.share);
    expect(late.delayPlusMinus95S).toBeLessThan(middle.delayPlusMinus95S);
    expect(late.good).toBe(true);
  });

  test("asks for a second speed at least 40 km/h above the first where it was never driven", () => {
    const progress = progressOf(150, [11, 13]);
    const fast = progress.steps.find((step) => step.name === "fast");
    expect(progress.next).toBe("fast");
    expect(fast?.seconds).toBeLessThan(5);
    // 10 to 13 m/s is 36 to 47 km/h; 40 above that is 75 to 90.
    expect(Number(/above (\d+) km\/h/.exec(saidIn(KMH_AND_M, fast?.words ?? ""))?.[1])).toBeGreaterThanOrEqual(70);
  });

  test("follows the undriven wheels where motor speed is missing, and is never good without a radius", () => {
    const options = { seed: 21, seconds: 150, rateHz: 10, undriven: true, jitter: "small" as const, truth: {} };
    const { tracks } = gentleDrive(options);
    const whole = alignRecording(tracks, SET_UP);
    const roles = { ...tracks.roles };
    delete roles.motorSpeed;
    const part = alignRecording({ ...tracks, roles }, SET_UP);
    const of = (recording: typeof whole) => calibrationProgress(recording, SET_UP, calibrate(recording, SET_UP, null));
    const [all, without] = [of(whole), of(part)];
    for (const name of ["slow", "fast"] as const) {
      const [a, b] = [all, without].map((progress) => progress.steps.find((step) => step.name === name)?.seconds ?? Number.NaN);
      expect(Math.abs(a - b)).toBeLessThan(3);
    }
    expect(without.delayPlusMinus95S).toBeLessThan(0.01);
    expect(all.good).toBe(true);
    expect(without.good).toBe(false);
  });

  test("says nothing was driven where nothing was", () => {
    const { tracks } = gentleDrive({ seed: 3, seconds: 12, rateHz: 10, undriven: false, jitter: "small", truth: {} });
    const recording = alignRecording({ ...tracks, roles: {} }, SET_UP);
    const progress = calibrationProgress(recording, SET_UP, nominalCalibration(SET_UP));
    expect(progress.share).toBe(0);
    expect(progress.steps.map((step) => step.seconds)).toEqual([0, 0, 0]);
  });
});

describe("stalenessOf()", () => {
  const figure = (value: number, share: number) => ({ value, plusMinus95: value * share, from: "calibrated" as const });
  const stored: Calibration = {
    ...nominalCalibration(SET_UP),
    rollingRadiusM: figure(0.324, 0.0005),
    undrivenScales: [{ name: "Wheels.Left", ...figure(1, 0.0005) }],
  };
  const unnoted = { tyres: null, pressureKpa: null };
  const reasons = (
    now: Calibration | null,
    storedTyres = unnoted as Parameters<typeof stalenessOf>[0]["storedTyres"],
    tyresNow = storedTyres,
  ) => stalenessOf({ stored, now, storedTyres, tyresNow });

  test("is quiet while the free-rolling ratio holds, even if both radii moved together", () => {
    expect(reasons(stored)).toEqual([]);
    expect(reasons(null)).toEqual([]);
    expect(
      reasons({
        ...stored,
        rollingRadiusM: figure(0.324 * 1.004, 0.0005),
        undrivenScales: [{ name: "Wheels.Left", ...figure(1.004, 0.0005) }],
      }),
    ).toEqual([]);
  });

  test("warns of a moved ratio, changed tyres and changed pressure, in words", () => {
    expect(reasons({ ...stored, rollingRadiusM: figure(0.324 * 1.006, 0.0005) }).join(" ")).toMatch(/free-rolling ratio.*0\.60 %/);
    expect(reasons(null, { tyres: "265/35R19", pressureKpa: 220 }, { tyres: "255/35R19", pressureKpa: 250 })).toHaveLength(2);
  });

  test("does not compare with a calibration that was never fitted", () => {
    expect(reasons(nominalCalibration(SET_UP))).toEqual([]);
  });
});
