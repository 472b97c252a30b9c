// Measured noise of a signal against the noise that was put in, and against the variance of rounding (step^2 / 12).
import { describe, expect, test } from "vitest";
import type { TimedColumn } from "../../../src/shared/align/aligned-recording.ts";
import { signalNoise } from "../../../src/shared/run/signal-noise.ts";
import { random } from "../align/gentle-drive.ts";

function column(sigma: number, quantum: number, seed = 5): TimedColumn {
  const { normal, uniform } = random(seed);
  const tS = Float64Array.from({ length: 2000 }, (_, i) => i * 0.01 + 0.004 * uniform());
  const value = tS.map((t) => 20 * t + sigma * normal()).map((v) => (quantum > 0 ? Math.round(v / quantum) * quantum : v));
  return { name: "Motor.Speed", tS, value, quantum, unit: "rad/s" };
}

describe("signalNoise()", () => {
  test.each([0.03, 0.5])("finds white noise of %f on a ramp with uneven frames", (sigma) => {
    expect(signalNoise(column(sigma, 0), 0, 20) / sigma).toBeCloseTo(1, 0);
    expect(Math.abs(signalNoise(column(sigma, 0), 0, 20) / sigma - 1)).toBeLessThan(0.06);
  });

  test("is never less than rounding, nor known from a handful of frames", () => {
    const still = { ...column(0, 0.1), value: new Float64Array(2000).fill(7) };
    expect(signalNoise(still, 0, 20)).toBeCloseTo(0.1 / Math.sqrt(12), 12);
    expect(signalNoise(column(5, 0.1), 0, 0.05)).toBeCloseTo(0.1 / Math.sqrt(12), 12);
  });
});
