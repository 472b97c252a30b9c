// A real minute of wheel speeds and GNSS (comma2k19, MIT, Example_1): lag and scale as docs/check-values.md, comma2k19 gives them.
import { existsSync, readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { alignRecording } from "../../../src/shared/align/align-recording.ts";
import { calibrate } from "../../../src/shared/align/calibrate.ts";
import type { RecordingTracks, SignalTrack } from "../../../src/shared/signals/tracks.ts";
import { SET_UP } from "./gentle-drive.ts";

const folder = `${process.env.GRIPBOOK_REFERENCE ?? new URL("../../../../shared/reference", import.meta.url).pathname}/comma2k19`;
const present = existsSync(`${folder}/gnss_ublox_10hz.csv`);

const rows = (file: string) =>
  readFileSync(`${folder}/${file}`, "utf8")
    .trim()
    .split("\n")
    .slice(1)
    .map((line) => line.split(","));

/** Mean wheel speed takes the place of motor speed at a ratio of 1 and a radius of 1 m, so the radius found is the scale. */
function realTracks(): RecordingTracks {
  const frames = rows("can_0AA_wheel_speeds_83hz.csv").map(([t, , hex]) => {
    // 15-bit Motorola, 0.01 km/h, -67.67 (commaai/opendbc, MIT); row 0 is checked below.
    const wheels = [0, 4, 8, 12].map((at) => (Number.parseInt(hex.slice(at, at + 4), 16) & 0x7fff) * 0.01 - 67.67);
    return { ns: Number(t) * 1e9, mps: wheels.reduce((sum, kmh) => sum + kmh, 0) / 4 / 3.6 };
  });
  const track = (name: string, unit: string, value: (i: number) => number): SignalTrack => ({
    name,
    unit,
    quantum: 0,
    arrivalNs: Float64Array.from(frames, (frame) => frame.ns),
    adapterMs: new Float64Array(frames.length).fill(Number.NaN),
    clockSegment: new Uint16Array(frames.length),
    value: Float64Array.from(frames, (_, i) => value(i)),
  });
  const epochs = rows("gnss_ublox_10hz.csv");
  const column = (k: number, scale = 1) => Float64Array.from(epochs, (row) => Number(row[k]) * scale);
  const unknown = () => new Float64Array(epochs.length).fill(Number.NaN);
  return {
    roles: { motorSpeed: track("Wheels.Mean", "rad/s", (i) => frames[i].mps), torqueDelivered: track("Wheels.None", "Nm", () => 0) },
    busClock: { adapterMs: new Float64Array(0), arrivalNs: new Float64Array(0), clockSegment: new Uint16Array(0) },
    epochs: {
      arrivalNs: column(0, 1e9),
      utcMs: column(4),
      dated: true,
      speedMps: column(3),
      courseDeg: column(6),
      latDeg: column(1),
      lonDeg: column(2),
      altM: column(5),
      burstBytes: unknown(),
      speedQuantumMps: new Float64Array(epochs.length).fill(0.001),
      hdop: unknown(),
      satellites: unknown(),
      fix: epochs.map(() => "3d" as const),
    },
    gaps: [],
    endNs: 61e9,
  };
}

if (!present) console.warn(`SKIPPED: the real minute (comma2k19) is not at ${folder}; set GRIPBOOK_REFERENCE`);

describe("calibrate() on a real minute", () => {
  test.skipIf(!present)("finds lag 0.14 +- 0.02 s and scale 1.00876 +- 0.001, inside the intervals it claims", () => {
    const setUp = {
      ...SET_UP,
      car: { ...SET_UP.car, gearRatio: 1, rollingRadiusM: 1 },
      signals: { ...SET_UP.signals, undrivenWheelSpeeds: [] },
    };
    const tracks = realTracks();
    expect(tracks.roles.motorSpeed?.value[0]).toBeCloseTo((8.01666667 + 8.01666667 + 7.90555556 + 7.95833333) / 4, 6);
    const recording = alignRecording(tracks, setUp);
    expect(recording.clocks.gnss?.method).toBe("stamps");
    // The dataset's own notes: receive minus UTC spreads 0 to 0.060 s, median 0.023 s.
    expect(recording.clocks.gnss?.medianDelayS).toBeCloseTo(0.023, 2);
    expect(recording.clocks.gnss?.worstDelayS).toBeGreaterThan(0.055);
    const { rollingRadiusM, gnssDelayS, notes } = calibrate(recording, setUp, null);
    console.log("real minute:", rollingRadiusM, gnssDelayS, notes.join(" "));
    expect(Math.abs(gnssDelayS.value - 0.14)).toBeLessThan(0.02);
    expect(Math.abs(gnssDelayS.value - 0.142)).toBeLessThan(gnssDelayS.plusMinus95 + 0.005);
    expect(Math.abs(rollingRadiusM.value - 1.00876)).toBeLessThan(0.001);
    expect(Math.abs(rollingRadiusM.value - 1.00876)).toBeLessThan(rollingRadiusM.plusMinus95);
  });
});
