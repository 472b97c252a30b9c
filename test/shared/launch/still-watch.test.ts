/**
 * Standing still, by every source at once: whichever first sees the car roll ends it (docs/design.md "Definitions": movement is 0.5 km/h).
 */
import { describe, expect, test } from "vitest";
import { createRestWatch } from "../../../src/shared/launch/rest-watch.ts";
import { createStillWatch } from "../../../src/shared/launch/still-watch.ts";
import { createRandom } from "../../support/second-car/random.ts";

const KMH = 1 / 3.6;
const STILL = { motor: { mps: 0 }, wheelsMps: [0, 0] as (number | null)[], receiverMoves: false };
type Seen = Partial<{ motor: { mps: number } | null; wheelsMps: (number | null)[]; receiverMoves: boolean; heardS: number }>;

/** Still for two seconds at 100 Hz, then what `then` gives; returns when "still" ends, in s after that, or null. */
function endsAfterS(then: (t: number) => Seen, forS = 2): number | null {
  const watch = createStillWatch();
  for (let k = 0; k < 200 + forS * 100; k += 1) {
    const tS = k / 100;
    const { motor, wheelsMps, receiverMoves, heardS } = { ...STILL, heardS: tS, ...(tS < 2 ? {} : then(tS - 2)) };
    watch.push({ tS, motor: motor === null ? null : { ...motor, heardS }, wheelsMps, receiverMoves });
    if (tS >= 1 && tS < 2) expect(watch.still()).toBe(true);
    if (tS >= 2 && !watch.still()) return tS - 2;
  }
  return null;
}

describe("createStillWatch()", () => {
  test("is true after a whole second in which every source stood, not before", () => {
    const watch = createStillWatch();
    const at = (tS: number) => {
      watch.push({ ...STILL, tS, motor: { mps: 0, heardS: tS } });
      return watch.still();
    };
    expect([0, 0.5, 0.99, 1, 1.5].map(at)).toEqual([false, false, false, true, true]);
  });

  test.each<[string, Seen]>([
    ["the motor, forwards", { motor: { mps: 0.5 * KMH } }],
    ["the motor, backwards", { motor: { mps: -0.5 * KMH } }],
    ["one wheel, the motor in neutral", { wheelsMps: [0, 0.5 * KMH] }],
    ["a wheel, the others silent", { wheelsMps: [null, 0.5 * KMH] }],
    ["the receiver alone", { receiverMoves: true }],
    ["nobody, the motor no longer mapped", { motor: null }],
  ])("ends at once by %s", (_, seen) => {
    expect(endsAfterS(() => seen)).toBe(0);
  });

  test("ends within 0.3 s of a motor that fell silent: it may be turning", () => {
    expect(endsAfterS(() => ({ heardS: 2 }))).toBeLessThan(0.3);
  });

  test("outlasts a motor's flutter and a wheel sensor that is silent or reads 0 below its threshold", () => {
    expect(endsAfterS((t) => ({ motor: { mps: 0.2 * KMH * Math.sin(40 * t) }, wheelsMps: [0, null] }))).toBeNull();
  });
});

test("createRestWatch() tells a start in neutral from one epoch over 0.5 km/h, and a noisy stand from none in a quarter of an hour", () => {
  const sigmaMps = 0.03;
  const noise = { correlatedMps: 0, correlationS: 0, whiteMps: sigmaMps };
  const random = createRandom(77);
  const speed = (trueMps: number) => Math.hypot(trueMps + sigmaMps * random.normal(), sigmaMps * random.normal());
  const watch = createRestWatch(() => noise);
  let wrong = 0;
  for (let k = 0; k < 9_000; k += 1) {
    watch.push(k / 10, speed(0));
    if (watch.rolls()) wrong += 1;
  }
  // Rayleigh: beyond 4.5 sigma lie 4 in 100,000, and 0.5 km/h is 4.6 sigma here.
  expect(wrong).toBeLessThanOrEqual(3);
  watch.push(900, 0.7 * KMH);
  expect(watch.rolls()).toBe(true);
});
