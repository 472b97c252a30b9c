/** What a stored run becomes for tuning. Truth: closed forms written into the columns. */
import { expect, test } from "vitest";
import type { RunSamples } from "../../../src/shared/run/run.ts";
import { gateOf, type TuneRunInput, tuneRun } from "../../../src/shared/tune/tune-run.ts";
import { EXACT_CALIBRATION } from "../launch/exact-launch.ts";

/** Stands 5 s, then 4 m/s2; the pedal comes up at `liftS` within 50 ms. */
function samplesOf(liftS: number, roles: Readonly<Record<string, (t: number) => number>>): RunSamples {
  const tS = Float64Array.from({ length: 1501 }, (_, i) => 100 + i / 100);
  const speed = (t: number) => Math.max(0, 4 * (Math.min(t, liftS) - 105));
  const same = (value: number) => new Float64Array(tS.length).fill(value);
  return {
    tS,
    groundSpeedMps: tS.map(speed),
    groundSpeedSigmaMps: same(0.01),
    wheelSpeedMps: tS.map(speed),
    slipSpeedMps: same(0),
    slipRatio: same(0),
    slipSigma: same(0.001),
    distanceM: same(0),
    accelerationMps2: same(4),
    roles: Object.fromEntries(Object.entries(roles).map(([name, f]) => [name, tS.map(f)])),
  };
}

function input(samples: RunSamples, conditions: Readonly<Record<string, string>> = {}): TuneRunInput {
  return {
    id: 3,
    label: "six per cent",
    conditions,
    figures: {
      uid: "u",
      movementS: 105.035,
      movementPlusMinus95: 0.01,
      startedAtUtcMs: null,
      windowFromS: 100,
      windowToS: 115,
      courseDeg: null,
      altitudeChangeM: null,
      gates: [{ gate: "0-60 mph", start: "movement", seconds: 6.67, plusMinus95: 0.01, atS: 111.7 }],
      slip: { peakSlipSpeedKmh: null, peakSlipRatio: null, secondsAbove10Percent: null },
      flags: [
        { flag: "wheelspin", why: "Spins." },
        { flag: "slope", why: "Falls.", overruled: "Level, measured" },
      ],
      measured: {},
    },
    samples,
    car: { name: "Odrel", massKg: 1480, drivenAxle: "rear", gearRatio: 9.04 },
    calibrationId: 2,
    calibration: EXACT_CALIBRATION,
  };
}

const foot = (liftS: number) => (t: number) => (t < 105 ? 0 : t < liftS ? 100 : Math.max(0, 100 * (1 - (t - liftS) / 0.05)));

test("a launch runs from movement to just before the foot comes up, whatever is pressed later", () => {
  const pedal = (t: number) => (t > 113 ? 80 : foot(112)(t));
  const run = tuneRun(input(samplesOf(112, { pedal, torqueRequest: () => 300 })));
  expect(run.samples.tS[run.startIndex]).toBeCloseTo(105.04, 9);
  expect(run.liftS).toBeCloseTo(112.02, 1);
  expect(run.samples.tS[run.endIndex - 1]).toBeLessThan(112);
  expect(run.samples.tS[run.endIndex - 1]).toBeGreaterThan(111.9);
  expect(run.samples.askedNm?.[0]).toBe(300);
  expect(run.samples.deliveredNm).toBeNull();
});

test("without a pedal the launch ends at the top of its speed", () => {
  expect(tuneRun(input(samplesOf(112, {}))).liftS).toBeCloseTo(112, 1);
});

test("a run whose speed is unknown throughout is an empty launch, not an error", () => {
  const samples = samplesOf(112, {});
  samples.groundSpeedMps.fill(Number.NaN);
  const run = tuneRun(input(samples));
  expect(run.endIndex).toBe(run.startIndex);
});

test("surface as noted, whatever its case; not noted is null; an overruled flag is none", () => {
  const samples = samplesOf(112, {});
  expect(tuneRun(input(samples, { surface: " Wet " })).surface).toBe("wet");
  expect(tuneRun(input(samples)).surface).toBeNull();
  expect(tuneRun(input(samples)).flags.map((flag) => flag.flag)).toEqual(["wheelspin"]);
});

test("undriven wheels come in mapped order", () => {
  const run = tuneRun(input(samplesOf(112, { "undrivenWheelSpeeds.1": () => 2, "undrivenWheelSpeeds.0": () => 1 })));
  expect(run.samples.undriven.map((column) => column[7])).toEqual([1, 2]);
});

test("a gate is found by name and start", () => {
  const run = tuneRun(input(samplesOf(112, {})));
  expect(gateOf(run, "0-60 mph", "movement")?.seconds).toBe(6.67);
  expect(gateOf(run, "0-60 mph", "1 ft")).toBeUndefined();
});
