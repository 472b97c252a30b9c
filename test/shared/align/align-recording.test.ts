// One time base: what a wall-clock step, repeated epochs, missing stamps and a stepped receiver clock may change and what not.
import { describe, expect, test } from "vitest";
import { alignRecording } from "../../../src/shared/align/align-recording.ts";
import { calibrate } from "../../../src/shared/align/calibrate.ts";
import { gentleDrive, SET_UP } from "./gentle-drive.ts";

const drive = (seed: number) => gentleDrive({ seed, seconds: 60, rateHz: 10, undriven: true, jitter: "burst", truth: {} });

const rising = (tS: Float64Array) => tS.every((t, i) => i === 0 || t >= tS[i - 1]);

describe("alignRecording()", () => {
  test("maps frames to within a millisecond RMS and epochs to their least delay", () => {
    const { tracks, truth } = drive(1);
    const recording = alignRecording(tracks, SET_UP);
    const motor = recording.roles.motorSpeed;
    if (motor === undefined) throw new Error("Expected motor speed to be aligned");
    // Frames were sampled every 10 ms from 0.5 s; the adapter's least delay is 0.2 ms in this generator.
    const squares = motor.tS.reduce((sum, t, i) => sum + (t - (0.5 + 0.01 * i + 0.0002)) ** 2, 0) / motor.tS.length;
    expect(Math.sqrt(squares)).toBeLessThan(0.6e-3);
    expect(rising(motor.tS)).toBe(true);
    expect(rising(recording.epochs.tS)).toBe(true);
    expect(recording.clocks.can?.method).toBe("stamps");
    expect(Math.abs((recording.clocks.can?.driftPpm ?? 0) + truth.driftPpm)).toBeLessThan(8);
    expect(recording.clocks.can?.worstDelayS).toBeGreaterThan(1.9);
  });

  test("ties UTC to the base so that every epoch maps back onto itself", () => {
    const { epochs, utcAtZeroMs, utcDrift } = alignRecording(drive(2).tracks, SET_UP);
    if (utcAtZeroMs === null) throw new Error("Expected dated epochs to give UTC");
    epochs.tS.forEach((tS, i) => {
      expect(Math.abs(utcAtZeroMs + 1000 * tS * (1 + utcDrift) - epochs.utcMs[i])).toBeLessThan(0.01);
    });
  });

  test("gives the same calibration whatever the wall clock says: only the UTC of the receiver differs by its own step", () => {
    const { tracks } = drive(3);
    const hours = 3 * 3_600_000;
    const elsewhere = { ...tracks, epochs: { ...tracks.epochs, utcMs: tracks.epochs.utcMs.map((ms) => ms + hours) } };
    const [a, b] = [tracks, elsewhere].map((each) => calibrate(alignRecording(each, SET_UP), SET_UP, null));
    expect(b.rollingRadiusM.value).toBeCloseTo(a.rollingRadiusM.value, 9);
    expect(b.gnssDelayS.value).toBeCloseTo(a.gnssDelayS.value, 6);
  });

  test("survives a receiver that corrects its own UTC in mid-recording, back or ahead", () => {
    const whole = calibrate(alignRecording(drive(4).tracks, SET_UP), SET_UP, null);
    for (const stepMs of [-1000, 18_000]) {
      const { tracks } = drive(4);
      const utcMs = tracks.epochs.utcMs.map((ms, i) => (i > 290 ? ms + stepMs : ms));
      const stepped = calibrate(alignRecording({ ...tracks, epochs: { ...tracks.epochs, utcMs } }, SET_UP), SET_UP, null);
      expect(Math.abs(stepped.gnssDelayS.value - whole.gnssDelayS.value)).toBeLessThan(0.001);
    }
  });

  test("drops an epoch that repeats the one before, keeps the rest", () => {
    const { tracks } = drive(5);
    const twice = (column: Float64Array) => Float64Array.from([...column.subarray(0, 100), column[99], ...column.subarray(100)]);
    const { fix, dated, ...columns } = tracks.epochs;
    const doubled = Object.fromEntries(Object.entries(columns).map(([name, column]) => [name, twice(column)]));
    const epochs = { ...(doubled as typeof columns), dated, fix: [...fix, "3d" as const] };
    const recording = alignRecording({ ...tracks, epochs }, SET_UP);
    expect(recording.epochs.tS.length).toBe(tracks.epochs.utcMs.length);
  });

  test("uses arrival where frames carry no stamps, and says so with its jitter", () => {
    const { tracks } = drive(6);
    const bare = { ...tracks, busClock: { ...tracks.busClock, adapterMs: tracks.busClock.adapterMs.map(() => Number.NaN) } };
    const recording = alignRecording(bare, SET_UP);
    expect(recording.clocks.can?.method).toBe("arrival");
    expect(recording.clocks.can?.sigmaS).toBeGreaterThan(0.001);
    expect(recording.roles.motorSpeed?.tS[0]).toBe(tracks.roles.motorSpeed ? tracks.roles.motorSpeed.arrivalNs[0] / 1e9 : Number.NaN);
  });

  test("gives an empty recording an empty result, not an error", () => {
    const { tracks } = drive(7);
    const nothing = new Float64Array(0);
    const { fix: _, dated, ...columns } = tracks.epochs;
    const epochs = { ...(Object.fromEntries(Object.keys(columns).map((name) => [name, nothing])) as typeof columns), dated, fix: [] };
    const recording = alignRecording(
      { roles: {}, busClock: { adapterMs: nothing, arrivalNs: nothing, clockSegment: new Uint16Array(0) }, epochs, gaps: [], endNs: 0 },
      SET_UP,
    );
    expect(recording.clocks).toEqual({ can: null, gnss: null });
    expect(recording.utcAtZeroMs).toBeNull();
    const calibration = calibrate(recording, SET_UP, null);
    expect(calibration.rollingRadiusM.from).toBe("set-up");
    expect(calibration.gnssDelayS.from).toBe("unknown");
    expect(calibration.notes.join(" ")).toMatch(/No motor speed/);
  });
});
