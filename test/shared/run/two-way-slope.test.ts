/**
 * Slope from runs both ways: on the simulated car, whose road's rise is known, and by arithmetic. g sin(slope) is what a slope adds to acceleration;
 * drag, mass and radius cancel in half the difference.
 */
import { describe, expect, test } from "vitest";
import { drain } from "../../../src/shared/kernel/drain.ts";
import { deriveRecording } from "../../../src/shared/pipeline/derive-recording.ts";
import { STANDARD_GATES } from "../../../src/shared/launch/gate.ts";
import { flagGroups, type GroupedRun } from "../../../src/shared/run/group-flags.ts";
import { twoWaySlope } from "../../../src/shared/run/two-way-slope.ts";
import { checkSetUp } from "../../../src/shared/setup/check-set-up.ts";
import { parseDbc } from "../../../src/shared/dbc/dbc-file.ts";
import { carSetUp, carSignalFile } from "../../../src/shared/simulation/car-files.ts";
import { DEFAULT_LAUNCH, type Segment } from "../../../src/shared/simulation/plan.ts";
import { readPlan } from "../../../src/shared/simulation/read-plan.ts";
import type { Packet } from "../../../src/shared/pipeline/packet.ts";
import { simulateDay } from "../../../src/shared/simulation/simulate-day.ts";

const there: Segment[] = [
  { ...DEFAULT_LAUNCH, toKmh: 100 },
  { kind: "drive", metres: 100, kmh: 40 },
  { kind: "turn" },
  { kind: "drive", metres: 20, kmh: 14 },
];

/** Four launches of the simulated car, two in each direction, on a road that rises by `slope` along the first. */
function driven(slope: number): GroupedRun[] {
  const seed = 11;
  const plan = readPlan(
    { car: { slope }, segments: [{ kind: "stand", seconds: 5 }, { kind: "gentle", seconds: 60 }, ...there, ...there, ...there, ...there] },
    seed,
  );
  const packets = [...simulateDay({ seed, plan }).packets].map(
    ({ stream, arrivalUs, bytes }): Packet => ({ stream, arrivalNs: arrivalUs * 1e3, bytes }),
  );
  const { runs } = drain(
    deriveRecording({
      setUp: checkSetUp(carSetUp(plan.bus)),
      databases: [parseDbc("car.dbc", carSignalFile())],
      canFormat: "slcan",
      gates: STANDARD_GATES,
      packets,
      endNs: packets.at(-1)?.arrivalNs ?? 0,
      calibration: null,
      marks: [],
      gaps: [],
      keep: (run) => run,
    }),
  );
  return runs.map((run) => ({ ...run, label: "on", use: true, day: null }));
}

const slopeOf = (runs: readonly GroupedRun[]) => {
  const first = runs[0]?.courseDeg ?? Number.NaN;
  return twoWaySlope(
    runs.flatMap(({ label, courseDeg, altitudeChangeM, slopeSigns }) =>
      slopeSigns === undefined
        ? []
        : [{ label, alongStrip: Math.cos((((courseDeg ?? Number.NaN) - first) * Math.PI) / 180) > 0, altitudeChangeM, signs: slopeSigns }],
    ),
  );
};

describe("on the simulated car", () => {
  test.each([0.01, -0.008])(
    "a road of %s is told by torque and by altitude, each within its interval, and both ways are flagged",
    (slope) => {
      const runs = driven(slope);
      expect(runs).toHaveLength(4);
      const seen = slopeOf(runs);
      // The launch's own direction decides the sign: the first run goes along the rise.
      for (const part of [seen?.altitude, seen?.torque, seen?.grade]) {
        expect(Math.abs((part?.value ?? Number.NaN) - slope)).toBeLessThan(part?.plusMinus95 ?? Number.NaN);
      }
      expect(seen?.grade.plusMinus95).toBeLessThan(Math.abs(slope));
      const why = runs.map(
        (run) =>
          flagGroups(runs)
            .get(run.uid)
            ?.find(({ flag }) => flag === "slope")?.why ?? "",
      );
      const [up, down] = slope > 0 ? ["rises", "falls"] : ["falls", "rises"];
      expect(why.map((words) => words.slice(9, 14))).toEqual([up, down, up, down]);
      expect(why[0]).toMatch(
        /from 2 runs one way and 2 the other: at the same torque it gathered 0\.\d\d m\/s² (less|more) than the mean of both ways/,
      );
    },
  );

  test("a level road flags nothing, and neither do runs one way alone", () => {
    expect([...flagGroups(driven(0)).values()].flat()).toEqual([]);
    const oneWay = driven(0.01).filter((_, i) => i % 2 === 0);
    expect(slopeOf(oneWay)).toBeNull();
    expect([...flagGroups(oneWay).values()].flat().map(({ flag }) => flag)).toEqual(["unpaired", "unpaired"]);
  });
});

test("half the difference, label by label: a setting driven mostly one way does not pass for a slope", () => {
  const run = (label: string, alongStrip: boolean, surplusMps2: number) => ({
    label,
    alongStrip,
    altitudeChangeM: null,
    signs: { place: null, lengthM: null, surplusMps2 },
  });
  const seen = twoWaySlope([
    run("off", true, -0.3),
    run("off", true, -0.3),
    run("off", false, -0.3),
    run("on", true, -0.5),
    run("on", false, -0.5),
    run("on", false, -0.5),
  ]);
  expect(seen?.torque?.value).toBeCloseTo(0, 12);
  const sloped = twoWaySlope([run("off", true, -0.398), run("off", false, -0.202)]);
  // 0.098 m/s2 of 9.80665 (standard gravity, CGPM 1901).
  expect(sloped?.torque?.value).toBeCloseTo(0.098 / 9.80665, 9);
});
