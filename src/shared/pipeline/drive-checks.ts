/**
 * What a recording's driving says about the signals chosen: speeds and torques against ground speed (check-role.ts), and one torque against the
 * other. The list before driving and the proof of the wiring both read it here.
 */
import type { AlignedRecording, TimedColumn } from "../align/aligned-recording.ts";
import type { Calibration } from "../align/calibration.ts";
import { GRID_STEP_S, resample } from "../align/drive-grid.ts";
import { indexAtOrBefore } from "../align/timed-lookup.ts";
import type { SetUp } from "../setup/set-up.ts";
import { type CarFacts, checkRole, type RoleCheck } from "../signals/check-role.ts";
import { askedScale, checkTorques, scaleWords } from "../signals/check-torques.ts";
import { SURVEY_STEP_S } from "../signals/signal-survey.ts";

export const CHECKED = ["motorSpeed", "torqueRequest", "torqueCommand", "torqueDelivered"] as const;
export type CheckedRole = (typeof CHECKED)[number];

/** Roles as people read them. */
export const ROLE_WORDS = {
  motorSpeed: "motor speed",
  torqueRequest: "torque asked",
  torqueCommand: "torque commanded",
  torqueDelivered: "torque delivered",
  pedal: "pedal",
} as const;

/** Ground speed, and columns beside it, on the grid that checkRole reads. */
export interface DriveTraces {
  readonly fromS: number;
  readonly groundMps: Float64Array;
  readonly on: (column: TimedColumn) => Float64Array;
}

/** The last value is held for half a second. */
function onGrid(tS: Float64Array, value: Float64Array, fromS: number, count: number): Float64Array {
  return Float64Array.from({ length: count }, (_, k) => {
    const t = fromS + k * SURVEY_STEP_S;
    const i = indexAtOrBefore(tS, t);
    return i >= 0 && t - tS[i] < 0.5 ? value[i] : Number.NaN;
  });
}

/** From the first of both streams to the end, the receiver's delay removed. */
export function tracesOf({ epochs, roles, endS }: AlignedRecording, delayS: number): DriveTraces {
  const firsts = [epochs.tS[0], ...CHECKED.map((role) => roles[role]?.tS[0])].filter((t) => t !== undefined);
  const fromS = firsts.length === 0 ? endS : Math.min(...firsts);
  const count = Math.max(0, Math.floor((endS - fromS) / SURVEY_STEP_S));
  return {
    fromS,
    groundMps: onGrid(
      epochs.tS.map((t) => t - delayS),
      epochs.speedMps,
      fromS,
      count,
    ),
    on: ({ tS, value }) => onGrid(tS, value, fromS, count),
  };
}

export const carFacts = ({ car: { gearRatio, massKg } }: SetUp, { rollingRadiusM }: Calibration): CarFacts => ({
  gearRatio,
  massKg,
  rollingRadiusM: rollingRadiusM.value,
});

/** Spinning wheels take torque that moves no car: more slip than this says nothing of a torque's scale. */
const MOST_SLIP = 0.1;
const MOST_SLIP_MPS = 1;

export function checkDriven(role: CheckedRole, recording: AlignedRecording, traces: DriveTraces, car: CarFacts): RoleCheck {
  const { motorSpeed, [role]: column } = recording.roles;
  if (column === undefined || column.tS.length === 0) return { verdict: "cannot tell yet", why: "not heard" };
  const values = traces.on(column);
  if (role === "motorSpeed") return checkRole(role, values, "rad/s", traces.groundMps, car);
  const wheelMps =
    motorSpeed === undefined ? null : traces.on(motorSpeed).map((radps) => (Math.abs(radps) * car.rollingRadiusM) / car.gearRatio);
  const gripping = values.map((nm, i) => {
    const slipMps = wheelMps === null ? 0 : (wheelMps[i] as number) - (traces.groundMps[i] as number);
    return slipMps > Math.max(MOST_SLIP_MPS, MOST_SLIP * (traces.groundMps[i] as number)) ? Number.NaN : nm;
  });
  const check = checkRole(role, gripping, "Nm", traces.groundMps, car);
  // What is asked need not be given: its scale is told by the delivered torque alone.
  return role !== "torqueDelivered" && check.reason === "ratio" ? { verdict: "fits", why: "it follows acceleration" } : check;
}

/** Torque asked against torque delivered: their scale, then which of them is which. */
export function checkPair({ roles: { torqueRequest, torqueDelivered }, endS }: AlignedRecording): RoleCheck {
  if (torqueRequest === undefined || torqueDelivered === undefined || torqueRequest.tS.length < 2 || torqueDelivered.tS.length < 2)
    return { verdict: "cannot tell yet", why: "not heard" };
  const fromS = Math.max(torqueRequest.tS[0], torqueDelivered.tS[0]);
  const count = Math.max(0, Math.floor((endS - fromS) / GRID_STEP_S));
  const [asked, delivered] = [torqueRequest, torqueDelivered].map((column) => resample(column, fromS, count)) as [
    Float64Array,
    Float64Array,
  ];
  const scaled = scaleWords(askedScale(asked, delivered));
  if (scaled !== null) return { verdict: "refused", why: scaled, reason: "ratio" };
  return checkTorques(asked, delivered, GRID_STEP_S);
}
