/**
 * The work of deriving is proportional to the data: four times the launches, or a hole ten times as long, measured against the shorter one
 * in the same process. Exits 1 when the work grows by more than half again as much as the data.
 */
import type { AlignedRecording } from "../../src/shared/align/aligned-recording.ts";
import { findLaunches } from "../../src/shared/launch/find-launches.ts";
import { STANDARD_GATES } from "../../src/shared/launch/gate.ts";
import { estimateRun } from "../../src/shared/run/estimate-run.ts";
import { EXACT_CALIBRATION, recordingOf } from "../shared/launch/exact-launch.ts";
import { SET_UP } from "../shared/launch/launch-generator.ts";

const MOST = 1.5;
/** One launch and its braking in each minute. */
const minute = (t: number) => (t < 20 ? 0 : t < 26 ? 5 * (t - 20) : Math.max(0, 30 - 6 * (t - 26)));
const noisy = { ...EXACT_CALIBRATION, receiverNoise: { correlatedMps: 0, correlationS: 0, whiteMps: 0.03 } };

function secondsOf(recording: AlignedRecording): number {
  const before = performance.now();
  for (const window of findLaunches(recording, noisy, SET_UP, []))
    estimateRun({ recording, calibration: noisy, setUp: SET_UP, window, gates: STANDARD_GATES, uid: "bench" });
  return (performance.now() - before) / 1000;
}

const launches = (count: number) => recordingOf((t) => minute(t % 60), 60 * count, 10, 0.03);
/** A launch whose receiver is lost while it brakes. */
const lost = (lengthS: number): AlignedRecording => {
  const recording = recordingOf(minute, 60 + lengthS, 10, 0.03);
  const { tS, speedMps } = recording.epochs;
  const heard = (t: number) => t < 28 || t > 28 + lengthS;
  return { ...recording, epochs: { ...recording.epochs, speedMps: speedMps.map((v, i) => (heard(tS[i]) ? v : Number.NaN)) } };
};

secondsOf(launches(1));
for (const [what, few, many, growth] of [
  ["launches, 4 and 16", launches(4), launches(16), 4],
  ["hole while braking, 30 and 300 s", lost(30), lost(300), 4],
] as const) {
  const [less, more] = [secondsOf(few), secondsOf(many)];
  const ratio = more / less / growth;
  console.log(`${what}: ${less.toFixed(2)} s and ${more.toFixed(2)} s, ${ratio.toFixed(2)} of the growth of the data`);
  if (ratio > MOST) process.exitCode = 1;
}
