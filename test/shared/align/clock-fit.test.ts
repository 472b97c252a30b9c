// The lower envelope against delays whose least value is known by construction; the line of least total delay against a search of all
// lines.
import { describe, expect, test } from "vitest";
import { fitClock, stampStepMs } from "../../../src/shared/align/clock-fit.ts";
import { random } from "./gentle-drive.ts";

/** Stamps of a clock `ppm` fast, whole ms unless `step` is 0; arrival = truth + 0.4 ms + delay(i). */
function observe(count: number, ppm: number, step: number, delayMs: (i: number) => number) {
  const stamps: number[] = [];
  const arrivals: number[] = [];
  const truthS: number[] = [];
  for (let i = 0; i < count; i++) {
    const trueMs = 1000 + i * 10.37;
    const device = trueMs * (1 + ppm * 1e-6) + 7345.3;
    stamps.push(step === 0 ? device : Math.floor(device / step) * step);
    arrivals.push((trueMs + 0.4 + delayMs(i)) * 1e6);
    truthS.push((trueMs + 0.4) / 1e3);
  }
  return { stamps, arrivals, truthS, segment: stamps.map(() => 0) };
}

const meanError = (fit: ReturnType<typeof fitClock>, data: ReturnType<typeof observe>) =>
  data.stamps.reduce((sum, stamp, i) => sum + fit.toBaseS(stamp, 0) - data.truthS[i], 0) / data.stamps.length;

describe("fitClock()", () => {
  test.each([-300, -200, 0, 50, 200, 300])("finds %i ppm and no bias under 16 ms bursts with whole-millisecond stamps", (ppm) => {
    const { uniform } = random(31 + ppm);
    const data = observe(6000, ppm, 1, () => 16 * uniform());
    const fit = fitClock(data.stamps, data.arrivals, data.segment, 1);
    // A truncated stamp is on average half a step old. Mapped as the middle of its step, the mean error is a small part of a ms.
    expect(Math.abs(meanError(fit, data))).toBeLessThan(0.25e-3);
    expect(Math.abs(fit.driftPpm + ppm)).toBeLessThan(8);
    expect(fit.medianDelayS).toBeGreaterThan(0.007);
    expect(fit.medianDelayS).toBeLessThan(0.009);
  });

  test("is not moved by stalls of seconds, at the ends or in the middle", () => {
    const { uniform } = random(5);
    const stalled = observe(
      6000,
      120,
      1,
      (i) => 3 * uniform() + (i < 200 ? 2000 : 0) + (i > 3000 && i < 3300 ? 3000 - (i - 3000) * 10 : 0) + (i > 5900 ? 1500 : 0),
    );
    const fit = fitClock(stalled.stamps, stalled.arrivals, stalled.segment, 1);
    expect(Math.abs(meanError(fit, stalled))).toBeLessThan(0.3e-3);
    expect(fit.worstDelayS).toBeGreaterThan(2.9);
  });

  test("leaves out a lone stamp that lies impossibly early, and counts it", () => {
    const { uniform } = random(6);
    const data = observe(2000, 0, 1, () => 2 * uniform());
    data.stamps[1000] += 5000;
    const fit = fitClock(data.stamps, data.arrivals, data.segment, 1);
    expect(fit.loners).toBeGreaterThanOrEqual(1);
    expect(Math.abs(fit.toBaseS(data.stamps[500], 0) - data.truthS[500])).toBeLessThan(1.5e-3);
  });

  test("keeps segments apart: a restarted adapter has an offset of its own", () => {
    const { uniform } = random(7);
    const data = observe(4000, 80, 1, () => 2 * uniform());
    const segment = data.stamps.map((_, i) => (i < 2000 ? 0 : 1));
    const stamps = data.stamps.map((stamp, i) => (i < 2000 ? stamp : stamp - 20000));
    const fit = fitClock(stamps, data.arrivals, segment, 1);
    expect(fit.segments).toBe(2);
    for (const i of [100, 1900, 2100, 3900]) expect(Math.abs(fit.toBaseS(stamps[i], segment[i]) - data.truthS[i])).toBeLessThan(1e-3);
    expect(fit.toBaseS(1, 9)).toBeNaN();
  });

  test("is the line under all points with the least total delay (brute force over all pairs)", () => {
    const { uniform } = random(8);
    const data = observe(60, 40, 0, () => 5 * uniform());
    const fit = fitClock(data.stamps, data.arrivals, data.segment, 0);
    const delays = data.stamps.map((stamp, i) => data.arrivals[i] / 1e6 - stamp);
    let best = Infinity;
    for (let a = 0; a < 60; a++) {
      for (let b = a + 1; b < 60; b++) {
        const slope = (delays[b] - delays[a]) / (data.stamps[b] - data.stamps[a]);
        if (Math.abs(slope) > 300e-6) continue;
        const above = data.stamps.map((stamp, i) => delays[i] - delays[a] - slope * (stamp - data.stamps[a]));
        if (above.every((value) => value > -1e-9))
          best = Math.min(
            best,
            above.reduce((sum, value) => sum + value, 0),
          );
      }
    }
    const ours = data.stamps.reduce((sum, stamp, i) => sum + data.arrivals[i] / 1e6 - 1e3 * fit.toBaseS(stamp, 0), 0);
    expect(ours).toBeLessThan(best + 1e-3);
  });

  test("follows a crystal that wanders over hours", () => {
    const { uniform } = random(9);
    const stamps: number[] = [];
    const arrivals: number[] = [];
    for (let i = 0; i < 40_000; i++) {
      const trueMs = i * 720;
      // 4 ppm up and down over eight hours: 18 ms away from any straight line.
      stamps.push(Math.floor(trueMs + 4e-6 * (2.88e7 / (2 * Math.PI)) * Math.sin((2 * Math.PI * trueMs) / 2.88e7)));
      arrivals.push((trueMs + 0.3 + uniform()) * 1e6);
    }
    const fit = fitClock(
      stamps,
      arrivals,
      stamps.map(() => 0),
      1,
    );
    for (let i = 0; i < 40_000; i += 2000) expect(Math.abs(fit.toBaseS(stamps[i], 0) - (i * 720 + 0.3) / 1e3)).toBeLessThan(1.5e-3);
  });
});

describe("stampStepMs()", () => {
  test("sees the step of whole-millisecond stamps and none in fractions", () => {
    expect(stampStepMs(Array.from({ length: 50 }, (_, i) => 7 * i + (i % 3)))).toBe(1);
    expect(stampStepMs(Array.from({ length: 50 }, (_, i) => 20 + 10 * i))).toBe(10);
    expect(stampStepMs(Array.from({ length: 50 }, (_, i) => 0.5 + 1.25 * i))).toBe(0);
  });
});
