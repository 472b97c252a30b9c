/** When each way of noticing spin would have noticed, on launches whose slip is a straight line over time: the answer is arithmetic. */
import { describe, expect, test } from "vitest";
import type { AlignedRecording } from "../../../src/shared/align/aligned-recording.ts";
import { notice, type NoticeDrive, type NoticeSetting, sweepLimit, USUAL_NOTICE } from "../../../src/shared/tune/notice.ts";
import type { TuneRun } from "../../../src/shared/tune/tune-run.ts";
import { EXACT_CALIBRATION } from "../launch/exact-launch.ts";
import { CAR, slipLaunch } from "./slip-launch.fixture.ts";

// The published dry surface (tyre-curve.test.ts names the table).
const DRY = { B: 10, C: 1.9, D: 1, E: 0.97 };
const LEVEL = 0.2;
const FROM_S = 2;
const PER_S = 0.4;
/** 5 % until 2 s after the pedal, then rising by 40 % a second to 45 %, and back to 5 % at 3.5 s. */
const slipAt = (t: number) => (t < FROM_S ? 0.05 : t < 3 ? 0.05 + PER_S * (t - FROM_S) : t < 3.5 ? 0.45 - 0.8 * (t - 3) : 0.05);
const passes = (slip: number) => FROM_S + (slip - 0.05) / PER_S;

const calibration = {
  ...EXACT_CALIBRATION,
  rollingRadiusM: { value: 0.324, plusMinus95: 0.0001, from: "calibrated" as const },
  undrivenScales: [{ name: "Front.Left", value: 1 / 3.6, plusMinus95: 0, from: "calibrated" as const }],
};
const DELAY_S = calibration.gnssDelayS.value;

/** A recording of just this run: a bus at 100 Hz, undriven wheels in km/h, a receiver at 10 Hz whose epochs arrive `DELAY_S` late. */
function driveOf(run: TuneRun, without: readonly ("motorSpeed" | "undriven" | "receiver")[] = []): NoticeDrive {
  const { tS, motorRadps, groundSpeedMps } = run.samples;
  const column = (name: string, unit: string, value: Float64Array) => ({ name, unit, quantum: 0, tS, value });
  const rows = Array.from({ length: Math.floor(tS.length / 10) }, (_, i) => 10 * i);
  const epochs = without.includes("receiver") ? [] : rows;
  const roles = {
    ...(without.includes("motorSpeed") || motorRadps === null ? {} : { motorSpeed: column("Motor.Speed", "rad/s", motorRadps) }),
    ...(without.includes("undriven")
      ? {}
      : {
          undrivenWheelSpeeds: [
            column(
              "Front.Left",
              "km/h",
              groundSpeedMps.map((v) => (v * 3.6 < 2.5 ? 0 : v * 3.6)),
            ),
          ],
        }),
  };
  const each = (value: (row: number) => number) => Float64Array.from(epochs, value);
  const recording: AlignedRecording = {
    roles,
    epochs: {
      tS: each((i) => tS[i] + DELAY_S),
      speedMps: each((i) => groundSpeedMps[i]),
      utcMs: each((i) => 1000 * tS[i]),
      burstBytes: each(() => 0),
      dated: true,
      speedQuantumMps: each(() => 0),
      courseDeg: each(() => 90),
      latDeg: each(() => -30),
      lonDeg: each(() => -20),
      altM: each(() => 0),
      hdop: each(() => 1),
      satellites: each(() => 12),
      fix: epochs.map(() => "3d" as const),
    },
    clocks: { can: null, gnss: null },
    utcAtZeroMs: 0,
    utcDrift: 0,
    gaps: [],
    endS: tS[tS.length - 1],
  };
  return { recording, calibration, gearRatio: CAR.gearRatio, runs: [run], spinsOver: () => LEVEL };
}

const run = slipLaunch({ id: 1, formula: DRY, slipAt, seconds: 5, surface: "dry" });
const drive = driveOf(run);
const ask = (more: Partial<NoticeSetting> & Pick<NoticeSetting, "way">) => notice([drive], { ...USUAL_NOTICE[more.way], ...more });
const value = (figure: { value: number } | null) => figure?.value ?? Number.NaN;

describe("driven against undriven wheels", () => {
  test("notices at the first look after slip passes the threshold, and late by what it is late", () => {
    for (const [threshold, everyS, lateS] of [
      [0.25, 0.01, 0],
      [0.3, 0.01, 0.04],
      [0.3, 0.1, 0.02],
      [0.15, 0.01, 0],
    ] as const) {
      const said = ask({ way: "wheels", threshold, everyS, lateS });
      const exact = passes(threshold) - passes(LEVEL) + lateS;
      expect(said).toMatchObject({ spins: 1, missed: 0, falseAlarms: 0, why: null });
      // A look comes up to one interval later, a frame is up to 10 ms old, and the run's rows place the spin to 10 ms.
      expect(value(said.noticedAfterS) - exact).toBeGreaterThan(-0.011);
      expect(value(said.noticedAfterS) - exact).toBeLessThan(everyS + 0.011);
      expect(Math.abs(value(said.slipThen) - (threshold + PER_S * (value(said.noticedAfterS) - exact + lateS)))).toBeLessThan(0.02);
    }
  });

  test("misses a spin that ends before its answer, and one under its threshold", () => {
    expect(ask({ way: "wheels", threshold: 0.5 })).toMatchObject({ spins: 1, missed: 1, noticedAfterS: null });
    expect(ask({ way: "wheels", threshold: 0.4, lateS: 0.6 })).toMatchObject({ missed: 1 });
  });

  test("cries for nothing where the threshold lies under the slip of a launch that does not spin", () => {
    const said = ask({ way: "wheels", threshold: 0.03 });
    expect(said.falseAlarms).toBeGreaterThanOrEqual(1);
    expect(said.falseAlarmsPerMinute).toBeCloseTo(said.falseAlarms / said.minutes, 9);
  });
});

test("the receiver sees the car as it was a delay and up to an epoch ago: at an acceleration a, slip seems larger by a times that over v", () => {
  const said = ask({ way: "receiver", threshold: 0.4, everyS: 0.01 });
  const wheels = ask({ way: "wheels", threshold: 0.4, everyS: 0.01 });
  expect(said.missed).toBe(0);
  const { groundSpeedMps, accelerationMps2, tS } = run.samples;
  const row = Math.round((passes(0.4) + 105 - tS[0]) / 0.01);
  const seemsMore = (accelerationMps2[row] * (DELAY_S + 0.1)) / groundSpeedMps[row];
  expect(value(said.noticedAfterS)).toBeLessThanOrEqual(value(wheels.noticedAfterS) + 0.001);
  expect(value(said.noticedAfterS)).toBeGreaterThan(value(wheels.noticedAfterS) - (1.5 * seemsMore) / PER_S - 0.02);
});

test("a limit on wheel acceleration notices at once where the wheels' own acceleration passes it, and never above it", () => {
  const { wheelSpeedMps, tS } = run.samples;
  const row = Math.round((FROM_S + 0.2 + 105 - tS[0]) / 0.01);
  const accelerates = (wheelSpeedMps[row + 1] - wheelSpeedMps[row - 1]) / 0.02;
  const under = ask({ way: "acceleration", threshold: accelerates - 1 });
  expect(under.missed).toBe(0);
  // Before slip passes the level: the wheels run away first.
  expect(value(under.noticedAfterS)).toBeLessThan(0);
  expect(ask({ way: "acceleration", threshold: accelerates + 20 }).missed).toBe(1);
  const points = sweepLimit([drive], USUAL_NOTICE.acceleration);
  const missed = points.map((point) => point.missed);
  expect(missed).toEqual([...missed].sort());
  expect(new Set(points.map(({ surface }) => surface))).toEqual(new Set(["dry"]));
});

test("a way that has nothing to look at says why", () => {
  const said = (way: NoticeSetting["way"], ...without: Parameters<typeof driveOf>[1] & object) =>
    notice([driveOf(run, without)], USUAL_NOTICE[way]);
  expect(said("wheels", "undriven").why).toContain("No undriven wheel");
  expect(said("receiver", "receiver").why).toContain("No receiver");
  expect(said("acceleration", "motorSpeed").why).toContain("not mapped");
  const calm = slipLaunch({ id: 2, formula: DRY, slipAt: () => 0.05, seconds: 4 });
  expect(notice([driveOf(calm)], USUAL_NOTICE.wheels)).toMatchObject({ spins: 0, missed: 0, why: expect.stringContaining("No run spun") });
});
