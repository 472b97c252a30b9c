/** A recording and a run of three samples, some of them unknown, for tests of the book. */
import type { RecordingStart, RunWrite } from "../../../../src/main/ports/book.ts";

export const START: RecordingStart = {
  uid: "r1",
  origin: "live",
  baseUtcUs: 1_936_000_000_000_000,
  canFormat: "slcan",
  setUp: { text: "{}", signalFiles: [{ name: "car.dbc", text: "VERSION" }] },
};
const column = (values: number[]) => Float64Array.from(values);

export function runWrite(recording: number, uid = "u1"): RunWrite {
  const three = column([1, Number.NaN, -0.1]);
  return {
    uid,
    recording,
    final: true,
    label: "traction control on",
    figures: {
      uid,
      movementS: 12.5,
      movementPlusMinus95: 0.01,
      startedAtUtcMs: null,
      windowFromS: 7.5,
      windowToS: 20,
      courseDeg: null,
      altitudeChangeM: null,
      gates: [{ gate: "0-60 mph", start: "movement", seconds: 4.35, plusMinus95: 0.01, atS: 16.85 }],
      slip: { peakSlipSpeedKmh: null, peakSlipRatio: null, secondsAbove10Percent: null },
      flags: [],
      measured: { stateOfCharge: 80 },
    },
    samples: {
      tS: column([7.5, 7.51, 7.52]),
      groundSpeedMps: three,
      groundSpeedSigmaMps: three,
      wheelSpeedMps: three,
      slipSpeedMps: three,
      slipRatio: three,
      slipSigma: three,
      distanceM: three,
      accelerationMps2: three,
      roles: { pedal: three, "undrivenWheelSpeeds.1": three },
    },
    roleUnits: { pedal: "%", "undrivenWheelSpeeds.1": "m/s" },
    print: { slipKmh: [1, null], heldNm: [0, 0], intervening: [false, true] },
    calibration: null,
  };
}
