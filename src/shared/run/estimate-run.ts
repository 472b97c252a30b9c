/**
 * Turns one launch of an aligned recording into a run: gate times with their uncertainty, samples, slip, conditions, flags. A launch with
 * too little data for the fit still gives a run: its gates have null seconds and say why.
 */
import { startOfGate } from "../launch/gate.ts";
import { median } from "../kernel/statistics.ts";
import type { AlignedRecording } from "../align/aligned-recording.ts";
import type { Calibration } from "../align/calibration.ts";
import type { SINGLE_ROLES } from "../setup/roles.ts";
import type { LaunchWindow } from "../launch/find-launches.ts";
import type { EstimateRunInput } from "../launch/estimate-input.ts";
import { fitLaunch } from "../launch/fit-launch.ts";
import type { LaunchFit } from "../launch/launch-fit.ts";
import { flagRun } from "./flags.ts";
import { halfWidthOf, movementCrossing, timeGates } from "../launch/gate-times.ts";
import { groundTrace } from "../launch/ground-trace.ts";
import { prepareLaunch, startUnheardS } from "../launch/prepare-launch.ts";
import { runSamples, summariseSlip } from "./run-samples.ts";
import type { GateResult } from "../launch/gate-result.ts";
import type { DerivedRun } from "./run.ts";
import { emptySamples } from "./empty-samples.ts";
import { slopeSignsOf } from "./slope-signs.ts";
import { timeStops } from "./stop-gates.ts";
import { indexAtOrBefore } from "../align/timed-lookup.ts";
import { wheelSecondsOf } from "./wheel-times.ts";

// A foot that leaves one pedal may already be on the other, so the launch model ends just before the lift.
const FIT_BEFORE_LIFT_S = 0.02;

const END_WORDS = {
  lift: "the driver lifted",
  gates: "all planned gates were passed",
  stopped: "the car stood again",
  abort: "it was aborted",
  recordingEnd: "the recording ended",
  lost: "the receiver was lost",
} as const;

/** Fits the launch of a window up to `untilS`; null when there is too little data. */
function fitWindow(input: Omit<EstimateRunInput, "gates" | "uid">, untilS: number): LaunchFit | null {
  const prepared = prepareLaunch(input.recording, input.calibration, input.setUp, input.window, untilS);
  return prepared ? fitLaunch(prepared) : null;
}

/** The run of one launch window. */
export function estimateRun(input: EstimateRunInput): DerivedRun {
  const { recording, calibration, setUp, window, gates, uid } = input;
  const fit = fitWindow(input, Math.min(window.endS, window.liftS - FIT_BEFORE_LIFT_S));
  const movement = fit ? movementCrossing(fit) : null;
  const measured = measuredAt(recording, movement?.atS ?? window.restS);
  const common = {
    uid,
    // The base is tied to UTC by arrival times. They are late by the part of the delay that comes after the receiver's stamp: between none
    // and all of it, so half is added.
    startedAtUtcMs:
      recording.utcAtZeroMs === null
        ? null
        : recording.utcAtZeroMs + 1000 * ((movement?.atS ?? window.restS) + calibration.gnssDelayS.value / 2) * (1 + recording.utcDrift),
    windowFromS: window.fromS,
    windowToS: window.toS,
    courseDeg: courseOf(recording, calibration, window),
    altitudeChangeM: altitudeChangeOf(recording, calibration, window),
    measured,
  };
  if (!fit || !movement) {
    const unheardS = startUnheardS(groundTrace(recording, calibration), window);
    const why =
      unheardS > 0
        ? `Not timed: the receiver was not heard for ${unheardS.toFixed(2)} s as the car began to move, and torque does not tell the start`
        : "Not timed: fewer than four receiver epochs with a speed in the launch, or no start could be found in them";
    const run = {
      ...common,
      movementS: window.restS,
      movementPlusMinus95: window.movingS - window.restS,
      gates: gates.map(
        (gate): GateResult => ({
          gate: gate.name,
          start: startOfGate(gate),
          seconds: null,
          plusMinus95: null,
          atS: null,
          why,
        }),
      ),
      slopeSigns: slopeSignsOf(recording, calibration, setUp, window, null),
      slip: { peakSlipSpeedKmh: null, peakSlipRatio: null, secondsAbove10Percent: null },
      samples: emptySamples(window),
    };
    return { ...run, flags: flagRun(run, input) };
  }
  const samples = runSamples({ recording, calibration, setUp, window, fit, movementS: movement.atS });
  const timed = [...timeGates(fit, gates, END_WORDS[window.endedBy]), ...timeStops(input, samples)].map((result): GateResult => {
    const gate = gates.find((one) => one.name === result.gate);
    return gate && gate.kind !== "stop"
      ? { ...result, wheelSeconds: wheelSecondsOf(samples, gate, result.start, movement.atS, window.endS) }
      : result;
  });
  const run = {
    ...common,
    movementS: movement.atS,
    movementPlusMinus95: halfWidthOf(movement),
    gates: timed,
    slopeSigns: slopeSignsOf(recording, calibration, setUp, window, samples),
    slip: summariseSlip(samples, movement.atS, window.liftS),
    samples,
  };
  return { ...run, flags: flagRun(run, input) };
}

/** Conditions at the start as bus signals show them: charge, temperatures, switches; null where not known within 10 s before. */
function measuredAt(recording: AlignedRecording, tS: number): Record<string, number | null> {
  const measured: Record<string, number | null> = {};
  const roles = [
    "stateOfCharge",
    "batteryTemperature",
    "motorTemperature",
    "inverterTemperature",
    "batteryVoltage",
    "tractionControlEnabled",
  ] as const satisfies readonly (keyof typeof SINGLE_ROLES)[];
  for (const role of roles) {
    const column = recording.roles[role];
    if (!column) continue;
    const i = indexAtOrBefore(column.tS, tS);
    const value = i >= 0 && tS - column.tS[i] <= 10 ? column.value[i] : Number.NaN;
    measured[role] = Number.isFinite(value) ? value : null;
  }
  return measured;
}

/** Indices of the epochs that describe instants between the two given ones. */
function epochsBetween({ epochs }: AlignedRecording, calibration: Calibration, fromS: number, toS: number): number[] {
  const { tS } = epochs;
  const delay = calibration.gnssDelayS.value;
  const found: number[] = [];
  for (let i = Math.max(0, indexAtOrBefore(tS, fromS + delay)); i < tS.length && tS[i] - delay <= toS; i++)
    if (tS[i] - delay >= fromS) found.push(i);
  return found;
}

/** Mean course over the launch, from epochs above 5 m/s. Averaged as directions, since the numbers 359 and 1 would average to 180. */
function courseOf(recording: AlignedRecording, calibration: Calibration, window: LaunchWindow): number | null {
  const { courseDeg, speedMps } = recording.epochs;
  let east = 0;
  let north = 0;
  for (const i of epochsBetween(recording, calibration, window.restS, window.endS)) {
    if (!(speedMps[i] > 5) || !Number.isFinite(courseDeg[i])) continue;
    east += Math.sin((courseDeg[i] * Math.PI) / 180);
    north += Math.cos((courseDeg[i] * Math.PI) / 180);
  }
  if (Math.hypot(east, north) < 1e-9) return null;
  return ((Math.atan2(east, north) * 180) / Math.PI + 360) % 360;
}

/** Altitude at the end minus altitude at the start, each a median over one second. */
function altitudeChangeOf(recording: AlignedRecording, calibration: Calibration, window: LaunchWindow): number | null {
  const { altM } = recording.epochs;
  const near = (from: number, to: number) => median(epochsBetween(recording, calibration, from, to).map((i) => altM[i]));
  const change = near(window.endS - 1, window.endS) - near(window.restS - 1, window.restS);
  return Number.isFinite(change) ? change : null;
}
