/**
 * Wrong wiring that a whole recording shows: what was seen and what to do, one fault for each mistake. What the driving does not show is not
 * named. Pure.
 */
import type { AlignedRecording, TimedColumn } from "../align/aligned-recording.ts";
import type { Calibration } from "../align/calibration.ts";
import { GRID_STEP_S, resample } from "../align/drive-grid.ts";
import { silencesOf } from "../align/silences.ts";
import { type SpeedShift, speedShift } from "../align/speed-shift.ts";
import { indexAtOrBefore } from "../align/timed-lookup.ts";
import { KMH_PER_MPS } from "../kernel/units.ts";
import { nominalCalibration } from "../align/nominal-calibration.ts";
import type { SetUp } from "../setup/set-up.ts";
import { CHECKED, type CheckedRole, carFacts, checkDriven, checkPair, type DriveTraces, ROLE_WORDS, tracesOf } from "./drive-checks.ts";

export type WiringKind = "unseen" | "stopped" | "shifted" | "unrelated" | "reversed" | "scale" | "swapped" | "ratio";

export interface WiringFault {
  readonly kind: WiringKind;
  /** The signal, message or source; one fault for each kind of it. */
  readonly what: string;
  readonly seen: string;
  readonly remedy: string;
  /** True where times that rest on it are wrong: they are not stored. */
  readonly spoils: boolean;
  /** Seconds by which the receiver's log lies later than the bus's, where the speeds show it. */
  readonly lateByS?: number;
}

const LONGEST_EPOCH_S = 1.2;
/** Below this a shift is the receiver's delay and the clocks' jitter. */
const LEAST_SHIFT_S = 0.6;
/** Correlation at which two speeds are one drive's, and below which no shift makes them so. */
const SAME_DRIVE = 0.95;
const OTHER_DRIVE = 0.8;
/**
 * By how much a tyre's rolling radius may differ from its marking: rolling circumference +1.5 / -2.5 % of the design value (common practice of
 * tyre standards, from memory). A ratio that is wrong by a tooth is further off.
 */
const MARKED_SHARE = 0.025;
/** A stream that is silent this long while the car moves has stopped; shorter holes are flagged with the runs. */
const STOPPED_S = 5;
const MOVING_MPS = 3;
const LEAST_MOVED_S = 3;

export function driveFaults(recording: AlignedRecording, setUp: SetUp, calibration: Calibration): WiringFault[] {
  const nominal = nominalCalibration(setUp);
  // A calibration may have taken the shift for a delay of its own.
  const apart = shiftFault(recording, nominal.gnssDelayS.value);
  // Against another moment's ground speed every signal looks wrong, and each stream seems to stop.
  if (apart !== null) return [apart];
  const traces = tracesOf(recording, calibration.gnssDelayS.value);
  const car = carFacts(setUp, nominal);
  const signals = CHECKED.flatMap((role) => roleFault(role, recording, traces, car) ?? []);
  const faults = [...torqueFaults(recording, signals)];
  const ratio = ratioFault(setUp, calibration);
  if (ratio !== null) faults.push(ratio);
  return [...faults, ...stopFaults(recording, car.rollingRadiusM / car.gearRatio)];
}

/** Swapped torques may look like a wrong factor too: what is asked is more than moves the car. */
function torqueFaults(recording: AlignedRecording, signals: readonly WiringFault[]): readonly WiringFault[] {
  if (signals.some(({ kind }) => kind === "reversed")) return signals;
  const { reason, why } = checkPair(recording);
  if (reason === "ratio") return signals.length > 0 ? signals : [signalFault("torqueRequest", recording, "scale", why)];
  if (reason !== "swapped") return signals;
  const swapped: WiringFault = {
    kind: "swapped",
    what: "torque asked and delivered",
    seen: why,
    remedy: "swap the two signals in Wiring, or in the set-up under torqueRequest and torqueDelivered",
    spoils: true,
  };
  return [...signals.filter(({ what }) => !what.startsWith(ROLE_WORDS.torqueDelivered)), swapped];
}

const REMEDY = {
  reversed: (role: CheckedRole) => `invert the signal in Wiring, or with "invert": true in the set-up under ${role}`,
  scale: (role: CheckedRole) =>
    role === "motorSpeed"
      ? "correct gear ratio, tyre or the signal's factor"
      : "correct the signal's factor in the signal file, or choose the torque at the motor shaft",
};

function roleFault(
  role: CheckedRole,
  recording: AlignedRecording,
  traces: DriveTraces,
  car: Parameters<typeof checkDriven>[3],
): WiringFault | null {
  const { verdict, reason, why } = checkDriven(role, recording, traces, car);
  if (verdict !== "refused" || (reason !== "reversed" && reason !== "ratio")) return null;
  return signalFault(role, recording, reason === "reversed" ? "reversed" : "scale", why);
}

const signalFault = (role: CheckedRole, { roles }: AlignedRecording, kind: "reversed" | "scale", seen: string): WiringFault => ({
  kind,
  what: `${ROLE_WORDS[role]} (${roles[role]?.name})`,
  seen,
  remedy: REMEDY[kind](role),
  spoils: true,
});

const seconds = (s: number) => s.toFixed(1);

/** Motor speed, and where it tells nothing the undriven wheels, against ground speed at every shift. */
function shiftFault({ roles, epochs, endS }: AlignedRecording, delayS: number): WiringFault | null {
  const { motorSpeed, undrivenWheelSpeeds = [] } = roles;
  const shiftOf = (column: TimedColumn | undefined): SpeedShift | null => {
    if (column === undefined || column.tS.length < 2 || epochs.tS.length < 2) return null;
    const fromS = Math.min(epochs.tS[0], column.tS[0]);
    const count = Math.max(0, Math.floor((endS - fromS) / GRID_STEP_S));
    const ground = { tS: epochs.tS.map((t) => t - delayS), value: epochs.speedMps };
    return speedShift(resample(column, fromS, count).map(Math.abs), resample(ground, fromS, count, false, LONGEST_EPOCH_S), GRID_STEP_S);
  };
  const motor = shiftOf(motorSpeed);
  const said = motor !== null && motor.best < SAME_DRIVE ? (shiftOf(undrivenWheelSpeeds[0]) ?? motor) : motor;
  if (said === null) return null;
  if (said.best >= SAME_DRIVE && Math.abs(said.lateByS) > LEAST_SHIFT_S) {
    const lateByS = Math.round(10 * said.lateByS) / 10;
    const words = `${seconds(Math.abs(lateByS))} s ${lateByS > 0 ? "late" : "early"}`;
    return {
      kind: "shifted",
      what: "receiver against bus",
      seen: `the receiver's speed comes ${words}: the speeds correlate to ${said.best.toFixed(3)} there, to ${said.asIs.toFixed(2)} as they stand`,
      remedy: "align the two with rederive --align, or correct the stamps of one log and import both into a new book",
      spoils: true,
      lateByS,
    };
  }
  if (said.best < OTHER_DRIVE)
    return {
      kind: "unrelated",
      what: "receiver against bus",
      seen: `motor speed follows ground speed at no shift (correlation ${said.best.toFixed(2)} at best)`,
      remedy: "see that both logs are of one drive, and that the signal of motor speed is the right one",
      spoils: true,
    };
  return null;
}

/** The calibrated radius against the set-up's: an entered one where it is there, else the tyre's marking. */
function ratioFault(setUp: SetUp, { rollingRadiusM: found }: Calibration): WiringFault | null {
  if (found.from !== "calibrated") return null;
  const { tyre, rollingRadiusM: entered, gearRatio } = setUp.car;
  const expected = nominalCalibration(setUp).rollingRadiusM.value;
  const off = found.value / expected - 1;
  if (Math.abs(off) - found.plusMinus95 / expected <= MARKED_SHARE) return null;
  const against = entered === undefined ? `the marking ${tyre}` : "the radius in the set-up";
  return {
    kind: "ratio",
    what: "gear ratio or tyre",
    seen: `the rolling radius comes out as ${found.value.toFixed(4)} m, ${(100 * Math.abs(off)).toFixed(1)} % ${off > 0 ? "over" : "under"} ${against} (${expected.toFixed(4)} m)`,
    remedy: `with a gear ratio of ${((gearRatio * expected) / found.value).toFixed(2)} in place of ${gearRatio} it would agree: correct the ratio or the tyre, or enter the measured radius as rollingRadiusM`,
    spoils: false,
  };
}

/** Streams that fall silent while the other one shows that the car moves. */
function stopFaults(recording: AlignedRecording, metresPerRad: number): WiringFault[] {
  const { roles, epochs, endS } = recording;
  const faults: WiringFault[] = [];
  const movedS = (tS: ArrayLike<number>, v: ArrayLike<number>, fromS: number, toS: number) => {
    let sum = 0;
    for (let i = Math.max(1, indexAtOrBefore(tS, fromS) + 1); i < tS.length && tS[i] <= toS; i++)
      if (Math.abs(v[i]) > MOVING_MPS) sum += Math.min(1, tS[i] - tS[i - 1]);
    return sum;
  };
  const add = (what: string, tS: ArrayLike<number>, mover: { tS: ArrayLike<number>; value: ArrayLike<number> }, remedy: string) => {
    if (tS.length === 0) return;
    for (const { fromS, toS } of silencesOf(tS, tS[0], endS, STOPPED_S)) {
      const moved = movedS(mover.tS, mover.value, fromS, toS);
      if (moved < LEAST_MOVED_S) continue;
      const least = mover.value[Math.max(0, indexAtOrBefore(mover.tS, fromS))];
      const after = toS < endS - 1 ? `, for ${seconds(toS - fromS)} s` : "";
      faults.push({
        kind: "stopped",
        what,
        seen: `nothing came from ${seconds(fromS)} s on${after}, and the car moved for ${moved.toFixed(0)} s of it (${(least * KMH_PER_MPS).toFixed(0)} km/h at first)`,
        remedy,
        spoils: false,
      });
      return;
    }
  };
  const bus = "see the adapter's cable and supply, and whether the sender stays awake; drive again what was lost";
  const names = new Set<string>();
  for (const role of CHECKED) {
    const column = roles[role];
    const message = column?.name.split(".")[0] ?? "";
    if (column === undefined || names.has(message)) continue;
    names.add(message);
    add(`frames of ${message}`, column.tS, { tS: epochs.tS, value: epochs.speedMps }, bus);
  }
  const { motorSpeed } = roles;
  if (motorSpeed !== undefined)
    add(
      "receiver",
      epochs.tS,
      { tS: motorSpeed.tS, value: motorSpeed.value.map((value) => value * metresPerRad) },
      "see the receiver's cable and supply; drive again what was lost",
    );
  return faults;
}
