/** Launches found and decoys left alone: the rules of docs/design.md "Definitions" (a launch starts from standing and is meant). */
import { describe, expect, test } from "vitest";
import type { AlignedRecording, TimedColumn } from "../../../src/shared/align/aligned-recording.ts";
import { KMH_AND_M, saidIn } from "../../../src/shared/kernel/shown-units.ts";
import { findLaunches, whyNothingTimed } from "../../../src/shared/launch/find-launches.ts";
import { rollingPulls, rollingWords } from "../../../src/shared/launch/rolling-pulls.ts";
import { EXACT_CALIBRATION, recordingOf } from "./exact-launch.ts";
import { SET_UP } from "./launch-generator.ts";

const END_S = 30;

function columnOf(name: string, unit: string, at: (t: number) => number, endS = END_S): TimedColumn {
  const tS = Float64Array.from({ length: endS * 100 }, (_, k) => k / 100);
  return { name, unit, quantum: 0, tS, value: tS.map(at) };
}

/** A drive by its true speed, pedal and (by default slip-free) motor speed. */
function drive({
  speed,
  pedal = () => 0,
  motor = speed,
  endS = END_S,
  noiseMps = 0.03,
}: {
  speed: (t: number) => number;
  pedal?: (t: number) => number;
  motor?: (t: number) => number;
  endS?: number;
  noiseMps?: number;
}): AlignedRecording {
  const recording = recordingOf((t) => Math.abs(speed(t)), endS, 10, noiseMps);
  return {
    ...recording,
    roles: {
      pedal: columnOf("Driver.Pedal", "%", pedal, endS),
      motorSpeed: columnOf("Motor.Speed", "rad/s", (t) => (motor(t) / 0.324) * 8.2, endS),
    },
  };
}

const CALIBRATION = { ...EXACT_CALIBRATION, receiverNoise: { correlatedMps: 0, correlationS: 0, whiteMps: 0.03 } };
const find = (recording: AlignedRecording, marks: Parameters<typeof findLaunches>[3] = []) =>
  findLaunches(recording, CALIBRATION, SET_UP, marks);
const floored = (from: number, to: number) => (t: number) => (t > from && t < to ? 100 : 0);
/** Constant acceleration from `from` until `to`, then coasting down gently. */
const launch =
  (from: number, to: number, a = 5) =>
  (t: number) =>
    t < from ? 0 : t < to ? a * (t - from) : Math.max(0, a * (to - from) - 0.4 * (t - to));

describe("findLaunches()", () => {
  test("finds a meant launch with 5 s before its rest and 3 s after its end kept", () => {
    const [window, ...more] = find(drive({ speed: launch(10, 17), pedal: floored(10, 17) }));
    expect(more).toHaveLength(0);
    expect(window.restS).toBeGreaterThan(9.5);
    expect(window.restS).toBeLessThan(10.25);
    expect(window.fromS).toBeCloseTo(window.restS - 5, 6);
    expect(window.liftS).toBeCloseTo(17, 1);
    // Pedal under 5 % for 1 s ends it.
    expect(window).toMatchObject({ endedBy: "lift", stopS: null });
    expect(window.endS).toBeCloseTo(18, 1);
    expect(window.toS).toBeCloseTo(window.endS + 3, 6);
  });

  test("a part pedal counts where it is over 2.5 m/s2 for half a second", () => {
    expect(find(drive({ speed: launch(10, 17, 4), pedal: (t) => (t > 10 && t < 17 ? 45 : 0) }))).toHaveLength(1);
  });

  test.each<[string, Parameters<typeof drive>[0]]>([
    ["false start", { speed: (t) => (t > 10 && t < 11 ? 1.2 * Math.sin(Math.PI * (t - 10)) : 0), pedal: floored(10, 10.3) }],
    ["creep", { speed: (t) => (t > 10 && t < 20 ? 1.5 * Math.sin((Math.PI * (t - 10)) / 10) : 0), pedal: () => 4 }],
    ["push", { speed: (t) => (t > 10 && t < 20 ? 1.8 * Math.sin((Math.PI * (t - 10)) / 10) : 0) }],
    ["gentle drive-off", { speed: launch(10, 22, 1.1), pedal: (t) => (t > 10 && t < 22 ? 18 : 0) }],
    ["reversing", { speed: launch(10, 14, 3), pedal: floored(10, 11), motor: (t) => -launch(10, 14, 3)(t) }],
    ["spin on the spot", { speed: () => 0, pedal: floored(10, 13), motor: launch(10, 13, 6) }],
    ["drive back", { speed: launch(10, 24, 1.4), pedal: (t) => (t > 10 && t < 24 ? 25 : 0) }],
    ["full pedal at speed", { speed: (t) => 8 + launch(10, 15, 4)(t), pedal: floored(10, 15) }],
  ])("never times a decoy: %s", (_, what) => {
    expect(find(drive(what))).toHaveLength(0);
  });

  test("finds a launch right after a false start", () => {
    const speed = (t: number) => (t > 8 && t < 8.8 ? 1.2 * Math.sin((Math.PI * (t - 8)) / 0.8) : launch(11, 17)(t));
    const windows = find(drive({ speed, pedal: (t) => floored(8, 8.3)(t) + floored(11, 17)(t) }));
    expect(windows).toHaveLength(1);
    expect(windows[0].restS).toBeGreaterThan(10.5);
  });

  test("two launches are two, and hard braking to standing belongs to its run", () => {
    const one = (t: number) => (t < 6 ? 5 * t : Math.max(0, 30 - 8 * (t - 6)));
    const speed = (t: number) => (t < 8 ? 0 : t < 24 ? one(t - 8) : one(t - 24));
    const pedal = (t: number) => floored(8, 14)(t) + floored(24, 30)(t);
    const windows = find(drive({ speed, pedal, endS: 45 }));
    expect(windows).toHaveLength(2);
    expect(windows[0].stopS).toBeGreaterThan(17.5);
    expect(windows[0].stopS).toBeLessThan(18);
    expect(windows[0].toS).toBeCloseTo((windows[0].stopS ?? 0) + 3, 6);
  });

  test.each([5, 64, 214])("a receiver lost for %d s while braking ends the run where it was lost: no stop is found beyond", (lengthS) => {
    const one = (t: number) => (t < 6 ? 5 * t : Math.max(0, 30 - 6 * (t - 6)));
    const recording = drive({ speed: (t) => (t < 8 ? 0 : one(t - 8)), pedal: floored(8, 14), endS: 40 + lengthS });
    const heard = (t: number) => t < 16 || t > 16 + lengthS;
    const lost = {
      ...recording,
      epochs: { ...recording.epochs, speedMps: recording.epochs.speedMps.map((v, i) => (heard(recording.epochs.tS[i]) ? v : Number.NaN)) },
    };
    const windows = find(lost);
    expect(windows).toMatchObject([{ endedBy: "lift", stopS: null }]);
    expect(windows[0].toS - windows[0].fromS).toBeLessThan(20);
  });

  test("a receiver lost under full pedal ends the run there", () => {
    const recording = drive({ speed: launch(10, 25), pedal: floored(10, 25), endS: 60 });
    const lost = {
      ...recording,
      epochs: {
        ...recording.epochs,
        speedMps: recording.epochs.speedMps.map((v, i) => (recording.epochs.tS[i] < 14 || recording.epochs.tS[i] > 50 ? v : Number.NaN)),
      },
    };
    expect(find(lost)).toMatchObject([{ endedBy: "lost", stopS: null }]);
    expect(find(lost)[0].endS).toBeCloseTo(14, 0);
  });

  test("marks: launches outside an armed span are left out, an abort ends the run", () => {
    const recording = drive({ speed: launch(10, 17), pedal: floored(10, 17) });
    const mark = (tS: number, kind: "arm" | "disarm" | "abort") => ({ tS, kind, text: "" });
    expect(find(recording, [mark(12, "arm")])).toHaveLength(0);
    expect(find(recording, [mark(2, "arm"), mark(6, "disarm")])).toHaveLength(0);
    expect(find(recording, [mark(2, "arm")])).toHaveLength(1);
    expect(find(recording, [mark(2, "arm"), mark(13, "abort")])[0]).toMatchObject({ endedBy: "abort", endS: 13 });
  });

  test("a recording that ends within the launch interrupts it", () => {
    const [window] = find(drive({ speed: launch(10, 30), pedal: floored(10, 30), endS: 15 }));
    expect(window.endedBy).toBe("recordingEnd");
    expect(window.toS).toBeLessThanOrEqual(15);
  });

  test("standing noise of 0.1 m/s in both components is standing", () => {
    const loud = { ...EXACT_CALIBRATION, receiverNoise: { correlatedMps: 0, correlationS: 0, whiteMps: 0.1 } };
    const recording = drive({ speed: launch(10, 17), pedal: floored(10, 17), noiseMps: 0.1 });
    expect(findLaunches(recording, loud, SET_UP, [])).toHaveLength(1);
  });

  test("without ground speed nothing is found and it says why", () => {
    const recording = drive({ speed: launch(10, 17), pedal: floored(10, 17) });
    const silent = { ...recording, epochs: { ...recording.epochs, speedMps: recording.epochs.speedMps.map(() => Number.NaN) } };
    expect(find(silent)).toHaveLength(0);
    expect(whyNothingTimed(silent)).toContain("no receiver epoch had a valid fix");
    expect(whyNothingTimed(recording)).toBeNull();
  });
});

describe("rollingPulls()", () => {
  /** Already rolling at 12 m/s, then pulled hard from 10 to 13 s and from 20 to 23 s, coasting between. */
  const speed = (t: number) =>
    12 + 5 * (Math.min(3, Math.max(0, t - 10)) + Math.min(3, Math.max(0, t - 20))) - 2 * Math.min(6, Math.max(0, t - 13.5));
  const pedal = (t: number) => (floored(10, 13)(t) > 0 || floored(20, 23)(t) > 0 ? 100 : 8);

  test("full-throttle pulls from 43 km/h are no launches, and are told as what they are, by pedal and without", () => {
    const recording = drive({ speed, pedal });
    expect(find(recording)).toEqual([]);
    const pulls = rollingPulls(recording, CALIBRATION);
    expect(pulls.map(({ atS }) => Math.round(atS))).toEqual([10, 20]);
    for (const { fromMps } of pulls) expect(Math.abs(fromMps - 12)).toBeLessThan(3.1);
    expect(saidIn(KMH_AND_M, rollingWords(pulls) ?? "")).toMatch(
      /^2 times the car was pulled hard while it rolled, first at 4\d.km\/h, 10 s into the recording: only launches/,
    );
    const { pedal: _, ...roles } = recording.roles;
    // Without a pedal the beginning is known to the second over which hard acceleration is told.
    const unfelt = rollingPulls({ ...recording, roles }, CALIBRATION);
    expect(unfelt).toHaveLength(2);
    for (const [i, { atS }] of unfelt.entries()) expect(Math.abs(atS - 10 - 10 * i)).toBeLessThan(1.5);
  });

  test("a launch, a pedal that is only tapped, and gentle driving are no pull; without any there are no words", () => {
    expect(rollingPulls(drive({ speed: launch(10, 17), pedal: floored(10, 17) }), CALIBRATION)).toEqual([]);
    expect(rollingPulls(drive({ speed: () => 12, pedal: floored(10, 10.3) }), CALIBRATION)).toEqual([]);
    expect(rollingPulls(drive({ speed: (t) => 5 + 0.3 * t, pedal: () => 20 }), CALIBRATION)).toEqual([]);
    expect(rollingWords([])).toBeNull();
  });
});
