/** Gates become final while the car still drives: within a second of the crossing, close to what the whole run will give. */
import { expect, test } from "vitest";
import { estimateRun } from "../../../src/shared/run/estimate-run.ts";
import { findLaunches } from "../../../src/shared/launch/find-launches.ts";
import { STANDARD_GATES } from "../../../src/shared/launch/gate.ts";
import { settleGates } from "../../../src/shared/launch/live-estimate.ts";
import { generateLaunch } from "./launch-generator.ts";

test("settleGates() gives 0-60 mph within a second of its crossing, inside both intervals", () => {
  const launch = generateLaunch({ seed: 31 });
  const [window] = findLaunches(launch.recording, launch.calibration, launch.setUp, []);
  const final = estimateRun({ ...launch, window, gates: STANDARD_GATES, uid: "final" });
  const whole = final.gates.find((gate) => gate.gate === "0-60 mph" && gate.start === "movement");
  const until = (whole?.atS ?? Number.NaN) + 1;
  const { epochs } = launch.recording;
  const n = epochs.tS.findIndex((t) => t > until);
  const soFar = { ...launch.recording, epochs: { ...epochs, tS: epochs.tS.slice(0, n), speedMps: epochs.speedMps.slice(0, n) } };
  const settled = settleGates({ ...launch, recording: soFar, gates: STANDARD_GATES, restS: window.restS, movingS: window.movingS });
  const now = settled.find((gate) => gate.gate === "0-60 mph" && gate.start === "movement");
  expect(Math.abs((now?.seconds ?? Number.NaN) - (whole?.seconds ?? Number.NaN))).toBeLessThan(
    (now?.plusMinus95 ?? 0) + (whole?.plusMinus95 ?? 0),
  );
  // Gates still ahead are not guessed.
  expect(settled.some((gate) => gate.gate === "0-100 mph")).toBe(false);
});

test("settleGates() gives nothing without epochs", () => {
  const launch = generateLaunch({ seed: 31 });
  const { epochs } = launch.recording;
  const empty = { ...launch.recording, epochs: { ...epochs, tS: new Float64Array(0), speedMps: new Float64Array(0) } };
  expect(settleGates({ ...launch, recording: empty, gates: STANDARD_GATES, restS: 6, movingS: 7 })).toEqual([]);
});
