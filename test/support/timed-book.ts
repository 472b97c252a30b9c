/**
 * A real book whose derived runs have the given gate times: stored through the Book interface as a closed recording's final runs, one every
 * four minutes.
 */
import { openSqliteBook } from "../../src/main/adapters/sqlite/sqlite-book.ts";
import type { RunWrite } from "../../src/main/ports/book.ts";
import type { Calibration } from "../../src/shared/align/calibration.ts";
import { carSetUp, carSignalFile } from "../../src/shared/simulation/car-files.ts";
import { defaultDayPlan } from "../../src/shared/simulation/default-day.ts";

const START_UTC_US = Date.UTC(2031, 4, 4, 10) * 1000;
const SPACING_S = 240;

export interface TimedRun {
  readonly label: string;
  /** 0-60 mph from movement; null not reached. */
  readonly seconds: number | null;
  /** 74 where absent: the same way every time. */
  readonly courseDeg?: number;
  /** Rolling gates in addition, with the times by the wheels alone. */
  readonly rolling?: readonly { readonly gate: string; readonly seconds: number; readonly wheelSeconds: number }[];
  /** The receiver gave no date. */
  readonly undated?: boolean;
  /** Marked and noted while driving, seconds from movement; no text: a mark. */
  readonly noted?: readonly { readonly atS: number; readonly text: string }[];
}

const figure = (value: number, plusMinus95: number) => ({ value, plusMinus95, from: "calibrated" as const });
export const CALIBRATION: Calibration = {
  rollingRadiusM: figure(0.324, 0.0004),
  gnssDelayS: figure(0.061, 0.004),
  slipPerNm: figure(0.0001, 0.00002),
  undrivenScales: [],
  drivenScales: [],
  undrivenThresholdMps: 0,
  receiverNoise: { correlatedMps: 0, correlationS: 0, whiteMps: 0.03 },
  covariance: null,
  usedS: 120,
  notes: [],
};

/** Steady acceleration to 60 mph in `seconds`, with a hump of slip and, where controlled, of torque held back. */
function samplesOf(movementS: number, seconds: number, controlled: boolean): RunWrite["samples"] {
  const rows = Math.round((seconds + 3) * 100);
  const tS = Float64Array.from({ length: rows }, (_, row) => movementS - 2 + row / 100);
  const since = (row: number) => Math.max(0, tS[row] - movementS);
  const each = (value: (sinceS: number) => number) => Float64Array.from(tS, (_, row) => value(since(row)));
  const accelerationMps2 = 26.8224 / seconds;
  const ground = each((t) => Math.min(t, seconds) * accelerationMps2);
  const slip = each((t) => (t === 0 ? 0 : (controlled ? 1.5 : 4) * Math.exp(-(((t - 0.8) / 0.5) ** 2))));
  const asked = each((t) => (t === 0 ? 0 : 310));
  const held = each((t) => (controlled && t > 0 ? 60 * Math.exp(-(((t - 0.9) / 0.4) ** 2)) : 0));
  return {
    tS,
    groundSpeedMps: ground,
    groundSpeedSigmaMps: each(() => 0.02),
    wheelSpeedMps: ground.map((v, row) => v + slip[row]),
    slipSpeedMps: slip,
    slipRatio: slip.map((value, row) => (ground[row] > 2.78 ? value / ground[row] : Number.NaN)),
    slipSigma: each(() => 0.004),
    distanceM: each((t) => (accelerationMps2 * t * t) / 2),
    accelerationMps2: each((t) => (t > 0 && t < seconds ? accelerationMps2 : 0)),
    roles: {
      pedal: each((t) => (t > 0 ? 100 : 0)),
      torqueRequest: asked,
      torqueDelivered: asked.map((nm, row) => nm - held[row]),
    },
  };
}

/** Adds a closed recording with these runs, in the order driven, so many days after the first; gives their ids. */
export function addTimedRuns(file: string, runs: readonly TimedRun[], uid = "timed", day = 0): number[] {
  const book = openSqliteBook({ file, create: true });
  try {
    const setUp = { text: JSON.stringify(carSetUp(defaultDayPlan(1).bus)), signalFiles: [{ name: "car.dbc", text: carSignalFile() }] };
    const { id: recording } = book.startRecording({
      uid,
      origin: "import",
      baseUtcUs: START_UTC_US + day * 86_400e6,
      canFormat: "slcan",
      setUp,
    });
    const calibration = book.addCalibration(recording, CALIBRATION).id;
    const ids = runs.map(({ label, seconds, courseDeg = 74, rolling = [], undated = false }, i) => {
      const movementS = 60 + i * SPACING_S;
      const samples = samplesOf(movementS, seconds ?? 5, label.endsWith("on"));
      const steps = Math.round((seconds ?? 5) / 0.05);
      const every5 = (column: Float64Array, factor: number) =>
        Array.from({ length: steps }, (_, step) => (column[200 + step * 5] ?? 0) * factor);
      const held = samples.roles.torqueRequest?.map((nm, row) => nm - (samples.roles.torqueDelivered?.[row] ?? 0)) ?? new Float64Array();
      return book.addRun({
        uid: `${uid}-${i + 1}`,
        recording,
        final: true,
        label,
        calibration,
        samples,
        roleUnits: { pedal: "%", torqueRequest: "Nm", torqueDelivered: "Nm" },
        print: { slipKmh: every5(samples.slipSpeedMps, 3.6), heldNm: every5(held, 1), intervening: every5(held, 1).map((nm) => nm > 5) },
        figures: {
          uid: `${uid}-${i + 1}`,
          movementS,
          movementPlusMinus95: 0.01,
          startedAtUtcMs: undated ? null : START_UTC_US / 1000 + day * 86_400e3 + movementS * 1000,
          windowFromS: movementS - 2,
          windowToS: movementS + (seconds ?? 5) + 1,
          courseDeg,
          altitudeChangeM: null,
          slopeSigns: { place: null, lengthM: null, surplusMps2: null },
          gates: [
            {
              gate: "0-60 mph",
              start: "movement",
              seconds,
              plusMinus95: seconds === null ? null : 0.012,
              atS: seconds === null ? null : movementS + seconds,
              ...(seconds === null ? { why: "lifted at 80 km/h" } : {}),
            },
            ...rolling.map((gate) => ({ ...gate, start: "entry" as const, plusMinus95: 0.012, atS: movementS + gate.seconds })),
          ],
          slip: { peakSlipSpeedKmh: 14.4, peakSlipRatio: 0.6, secondsAbove10Percent: 1.2 },
          flags: [],
          measured: { stateOfCharge: 80 },
        },
      });
    });
    const marks = runs.flatMap(({ noted = [] }, i) =>
      noted.map(({ atS, text }) => ({ tS: 60 + i * SPACING_S + atS, kind: "note" as const, text })),
    );
    book.append(recording, { packets: [], marks, gaps: [], clock: [] });
    book.closeRecording(recording, "closed");
    book.markDerived(recording);
    return ids;
  } finally {
    book.close();
  }
}

/** The design's worked example, each group in the order of its list. */
export const WORKED_EXAMPLE: readonly TimedRun[] = [
  ...[5.0, 5.05, 5.11, 5.4].map((seconds) => ({ label: "off", seconds })),
  ...[4.35, 4.42, 4.46, 4.51].map((seconds) => ({ label: "on", seconds })),
];
