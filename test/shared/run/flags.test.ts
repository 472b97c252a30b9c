/** Flags: each raised by its cause alone, each with a sentence; and the flags that only a group shows. */
import { describe, expect, test } from "vitest";
import type { AlignedRecording, TimedColumn } from "../../../src/shared/align/aligned-recording.ts";
import { estimateRun } from "../../../src/shared/run/estimate-run.ts";
import { findLaunches } from "../../../src/shared/run/find-launches.ts";
import { STANDARD_GATES } from "../../../src/shared/run/gate.ts";
import { flagGroup } from "../../../src/shared/run/group-flags.ts";
import type { Flag } from "../../../src/shared/run/run.ts";
import { type GeneratedLaunch, generateLaunch } from "./launch-generator.ts";

const clean = generateLaunch({ seed: 21, liftAtMps: 30 });

function flagsOf(
  launch: GeneratedLaunch,
  change: (recording: AlignedRecording) => AlignedRecording = (same) => same,
  marks: Parameters<typeof findLaunches>[3] = [],
): readonly Flag[] {
  const recording = change(launch.recording);
  const [window] = findLaunches(recording, launch.calibration, launch.setUp, marks);
  return estimateRun({ ...launch, recording, window, gates: STANDARD_GATES, uid: "flags" }).flags;
}

const withRole = (role: string, column: TimedColumn) => (recording: AlignedRecording) => ({
  ...recording,
  roles: { ...recording.roles, [role]: column },
});
const column = (name: string, unit: string, at: (t: number) => number): TimedColumn => {
  const tS = Float64Array.from({ length: 2500 }, (_, k) => k / 100);
  return { name, unit, quantum: 0.1, tS, value: tS.map(at) };
};
const only = (flags: readonly Flag[]) => flags.map((flag) => flag.flag);

describe("flagRun()", () => {
  test("raises nothing on a clean run", () => {
    expect(flagsOf(clean)).toEqual([]);
  });

  test("wheelspin: slip above 10 % for long", () => {
    const flags = flagsOf(generateLaunch({ seed: 21, peakMu: 0.55, control: false, liftAtMps: 20 }));
    expect(only(flags)).toContain("wheelspin");
    expect(flags[0].why).toMatch(/^Slip stood above 10 % for \d+\.\d s, with the wheels up to .* km\/h ahead of the road\.$/);
  });

  test("receiver: missing epochs, poor geometry", () => {
    const drop = (recording: AlignedRecording) => ({
      ...recording,
      epochs: { ...recording.epochs, speedMps: recording.epochs.speedMps.map((v, i) => (i > 85 && i < 88 ? Number.NaN : v)) },
    });
    expect(flagsOf(clean, drop)).toEqual([{ flag: "receiver", why: expect.stringContaining("epochs had no valid speed") }]);
    const poor = (recording: AlignedRecording) => ({
      ...recording,
      epochs: { ...recording.epochs, hdop: recording.epochs.hdop.map(() => 3.2) },
    });
    expect(flagsOf(clean, poor)).toEqual([{ flag: "receiver", why: "Receiver: HDOP rose to 3.2." }]);
  });

  test("slowReceiver: below 5 epochs a second", () => {
    expect(only(flagsOf(generateLaunch({ seed: 21, rateHz: 4, liftAtMps: 30 })))).toContain("slowReceiver");
    expect(only(flagsOf(generateLaunch({ seed: 21, rateHz: 5, liftAtMps: 30 })))).not.toContain("slowReceiver");
  });

  test("frames: a hole in the bus stream within the launch, not one before it", () => {
    const hole = (fromS: number) => (recording: AlignedRecording) => ({
      ...recording,
      gaps: [{ stream: "can" as const, fromNs: fromS * 1e9, toNs: (fromS + 0.3) * 1e9, cause: "adapter restarted" }],
    });
    expect(flagsOf(clean, hole(9))).toEqual([{ flag: "frames", why: "The bus stream had a hole of 0.30 s (adapter restarted)." }]);
    expect(flagsOf(clean, hole(1))).toEqual([]);
  });

  test("pedal, derated, switched", () => {
    const eased = column("Driver.Pedal", "%", (t) => (clean.v[Math.round(t * 1000)] > 0.02 && t < 11 ? 82 : 0));
    expect(flagsOf(clean, withRole("pedal", eased))).toEqual([{ flag: "pedal", why: "The pedal was not floored: at most 82 %." }]);
    expect(
      flagsOf(
        clean,
        withRole(
          "torqueLimit",
          column("Motor.Limit", "Nm", () => 250),
        ),
      ),
    ).toEqual([
      { flag: "derated", why: expect.stringMatching(/^The torque limit stood up to \d+ Nm below what was asked, for \d\.\d s\.$/) },
    ]);
    expect(
      flagsOf(
        clean,
        withRole(
          "tractionControlEnabled",
          column("Esp.Switch", "", (t) => (t < 9 ? 1 : 0)),
        ),
      ),
    ).toEqual([{ flag: "switched", why: "Traction control was switched off within the run." }]);
  });

  test("aborted and interrupted", () => {
    expect(only(flagsOf(clean, undefined, [{ tS: 9, kind: "abort", text: "" }]))).toContain("aborted");
  });

  test("slope: from the receiver's altitude", () => {
    const climbing = (recording: AlignedRecording) => ({
      ...recording,
      epochs: { ...recording.epochs, altM: recording.epochs.tS.map((t) => (t > 7 ? 0.6 * (t - 7) : 0)) },
    });
    expect(flagsOf(clean, climbing)).toEqual([{ flag: "slope", why: expect.stringContaining("The road rose by about") }]);
  });
});

describe("flagGroup()", () => {
  const run = (uid: string, courseDeg: number | null, measured: Record<string, number | null> = {}) => ({ uid, courseDeg, measured });

  test("a run without a partner the other way is unpaired", () => {
    const flags = flagGroup([run("a", 74), run("b", 254), run("c", 73)]);
    expect([...flags.keys()]).toEqual(["c"]);
    expect(flags.get("c")).toEqual([{ flag: "unpaired", why: expect.stringContaining("towards 73°") }]);
    expect(flagGroup([run("north", 2), run("south", 179)]).size).toBe(0);
    expect(flagGroup([run("unknown", null)]).size).toBe(0);
  });

  test("charge and temperatures out of line with the group", () => {
    const at = (uid: string, course: number, stateOfCharge: number | null, batteryTemperature: number | null) =>
      run(uid, course, { stateOfCharge, batteryTemperature });
    const flags = flagGroup([
      at("a", 74, 80, 22),
      at("b", 254, 78, 24),
      at("c", 74, 55, 23),
      at("d", 254, 76, 45),
      at("e", 74, null, null),
      at("f", 254, 77, 22),
    ]);
    expect([...flags].map(([uid, list]) => [uid, list[0].flag])).toEqual([
      ["c", "charge"],
      ["d", "temperature"],
    ]);
  });
});
