/**
 * The work of deriving is proportional to the data: four times the launches, or a hole ten times as long, measured against the shorter one
 * in the same process: at most half again as much as the data.
 */
import type { AlignedRecording } from "../../src/shared/align/aligned-recording.ts";
import { findLaunches } from "../../src/shared/launch/find-launches.ts";
import { STANDARD_GATES } from "../../src/shared/launch/gate.ts";
import { estimateRun } from "../../src/shared/run/estimate-run.ts";
import { EXACT_CALIBRATION, recordingOf } from "../shared/launch/exact-launch.ts";
import { SET_UP } from "../shared/launch/launch-generator.ts";
import { processorMs, tellBench } from "./tell-bench.ts";

const MOST = 1.5;
const bench = tellBench("derive");
/** One launch and its braking in each minute. */
const minute = (t: number) => (t < 20 ? 0 : t < 26 ? 5 * (t - 20) : Math.max(0, 30 - 6 * (t - 26)));
const noisy = { ...EXACT_CALIBRATION, receiverNoise: { correlatedMps: 0, correlationS: 0, whiteMps: 0.03 } };

function secondsOf(recording: AlignedRecording): number {
  const before = processorMs();
  for (const window of findLaunches(recording, noisy, SET_UP, []))
    estimateRun({ recording, calibration: noisy, setUp: SET_UP, window, gates: STANDARD_GATES, uid: "bench" });
  return (processorMs() - before) / 1000;
}

const launches = (count: number) => recordingOf((t) => minute(t % 60), 60 * count, 10, 0.03);
/** A launch whose receiver is lost while it brakes. */
const lost = (lengthS: number): AlignedRecording => {
  const recording = recordingOf(minute, 60 + lengthS, 10, 0.03);
  const { tS, speedMps } = recording.epochs;
  const heard = (t: number) => t < 28 || t > 28 + lengthS;
  return { ...recording, epochs: { ...recording.epochs, speedMps: speedMps.map((v, i) => (heard(tS[i]) ? v : Number.NaN)) } };
};

// Compiled by the first.
secondsOf(launches(1));
for (const { name, what, sizeUnit, sizes, made } of [
  { name: "launches", what: "launches found and timed", sizeUnit: "launches", sizes: [1, 4, 16], made: launches },
  {
    name: "hole",
    what: "a launch whose receiver is lost while it brakes",
    sizeUnit: "s without a receiver",
    sizes: [30, 100, 300],
    made: lost,
  },
]) {
  const points = sizes.map((size) => ({ size, cost: secondsOf(made(size)) }));
  const costUnit = "s of processor time";
  bench.series({ name, what, sizeUnit, costUnit, lines: [{ name: "Gripbook", points }] });
  const [few, many] = [points.at(-2), points.at(-1)];
  if (few === undefined || many === undefined) continue;
  // The hole is a part of its recording of a minute more.
  const growth = made === lost ? (many.size + 60) / (few.size + 60) : many.size / few.size;
  bench.figure({
    name: `${name}-growth`,
    what: `${what}: ${many.size} instead of ${few.size} ${sizeUnit}`,
    value: many.cost / few.cost,
    unit: "times the work",
    reference: { name: "the data", value: growth },
    gate: { of: "ratio", is: "at most", limit: MOST },
  });
}
