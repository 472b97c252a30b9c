/** Roles read from frames: units, signs, wording of errors; bytes of a device told from noise. */
import { readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { FrameBatch } from "../../../src/shared/frames/frame-batch.ts";
import { createSlcanParser } from "../../../src/shared/frames/slcan-parser.ts";
import type { RoleChoices } from "../../../src/shared/setup/set-up.ts";
import { scoreTalk } from "../../../src/shared/wiring/baud-score.ts";
import { createSignalDatabase } from "../../../src/shared/dbc/dbc-decode.ts";
import { parseDbc } from "../../../src/shared/dbc/dbc-file.ts";
import { createRoleTap } from "../../../src/shared/signals/role-tap.ts";
import { conversionOf } from "../../../src/shared/signals/signal-units.ts";
import { ascii, capturePath } from "../frames/pieces.ts";

const FILE = `VERSION ""
BU_: ECU
BO_ 256 Drive: 8 ECU
 SG_ MotorSpeed : 0|16@1- (1,0) [0|0] "rpm" ECU
 SG_ TorqueDelivered : 16|16@1- (0.1,0) [0|0] "Nm" ECU
 SG_ TorqueRequest : 32|16@1- (0.1,0) [0|0] "lbft" ECU
 SG_ Pedal : 48|8@1+ (0.5,0) [0|0] "%" ECU
 SG_ Limiter : 56|1@1+ (1,0) [0|1] "" ECU
 SG_ Odd : 57|4@1+ (1,0) [0|0] "furlong" ECU
 SG_ Bare : 61|3@1+ (1,0) [0|0] "" ECU
BO_ 257 Wheels: 4 ECU
 SG_ Left : 7|16@0+ (0.01,0) [0|0] "km/h" ECU
 SG_ Right : 23|16@0+ (0.01,0) [0|0] "km/h" ECU
BO_ 258 Dead: 8 ECU
 SG_ Flat : 0|8@1+ (0,5) [0|0] "Nm" ECU
VAL_ 256 Pedal 255 "Not_available" ;
`;
const database = createSignalDatabase([parseDbc("car.dbc", FILE)]);
const plain = (signal: string) => ({ signal, invert: false });
const tapOf = (signals: RoleChoices) => createRoleTap(database, { signals });

test("roleTap() grows SI columns, signs turned where asked, and keeps the newest values", () => {
  const tap = tapOf({
    motorSpeed: { signal: "Drive.MotorSpeed", invert: true },
    torqueDelivered: plain("Drive.TorqueDelivered"),
    torqueRequest: plain("Drive.TorqueRequest"),
    pedal: plain("Drive.Pedal"),
    tractionControlEnabled: { signal: "Drive.Limiter", invert: true },
    drivenWheelSpeeds: [plain("Wheels.Left"), plain("Wheels.Right")],
  });
  const batch = new FrameBatch(1);
  const parser = createSlcanParser();
  // -600 rpm, 12.5 Nm, 100 lbft, 40 %, limiter bit 0; then the pedal's "not available"; wheels 36.00 and 72.00 km/h.
  parser.push(ascii("t1008A8FD7D00E8035000000A\r"), 20e6, batch);
  parser.push(ascii("t1008A8FD7D00E803FF01000B\rt10140E101C20000C\r"), 21e6, batch);
  tap.push(batch);
  const { roles, busClock } = tap.tracks();
  expect(roles.motorSpeed?.value[0]).toBeCloseTo(20 * Math.PI, 12);
  expect(roles.motorSpeed).toMatchObject({ name: "Drive.MotorSpeed", unit: "rad/s" });
  expect(roles.motorSpeed?.quantum).toBeCloseTo(Math.PI / 30, 12);
  expect(Array.from(roles.torqueDelivered?.value ?? [])).toEqual([12.5, 12.5]);
  // 1 lbf ft = 1.3558179483314004 Nm (NIST SP 811, appendix B).
  expect(roles.torqueRequest?.value[0]).toBeCloseTo(135.58179483314004, 9);
  expect(Array.from(roles.pedal?.value ?? [])).toEqual([40]);
  expect(tap.unknownValues).toBe(1);
  expect(Array.from(roles.tractionControlEnabled?.value ?? [])).toEqual([1, 0]);
  expect(roles.drivenWheelSpeeds?.map(({ value }) => value[0])).toEqual([10, 20].map((mps) => expect.closeTo(mps, 9)));
  expect(Array.from(roles.pedal?.adapterMs ?? [])).toEqual([10]);
  expect(tap.latest()).toMatchObject({ pedal: { value: 40, arrivalNs: 20e6 }, drivenWheelSpeeds: [{ unit: "m/s" }, { unit: "m/s" }] });
  expect(busClock.adapterMs.length).toBe(1);
  tap.dropBefore(30e6);
  expect(tap.tracks().roles.pedal?.value).toHaveLength(0);
  expect(tap.latest().pedal?.value).toBe(40);
});

test("signals of one message share the times of its frames; one that a frame lacks keeps its own, also after the oldest are dropped", () => {
  const tap = tapOf({
    motorSpeed: plain("Drive.MotorSpeed"),
    torqueDelivered: plain("Drive.TorqueDelivered"),
    pedal: plain("Drive.Pedal"),
  });
  const batch = new FrameBatch(1);
  const parser = createSlcanParser();
  // The pedal at 0, "not available", 1, "not available", ... half per cent, a frame each ten milliseconds.
  const frames = 700;
  for (let i = 0; i < frames; i += 1) {
    const pedal = i % 2 === 1 ? "FF" : (i % 200).toString(16).toUpperCase().padStart(2, "0");
    parser.push(ascii(`t1008A8FD7D000000${pedal}00${(10 * i).toString(16).toUpperCase().padStart(4, "0")}\r`), i * 10e6, batch);
  }
  tap.push(batch);
  for (const how of ["copied", "viewed"] as const) {
    const { motorSpeed, torqueDelivered, pedal } = tap.tracks(how).roles;
    expect(motorSpeed?.arrivalNs).toBe(torqueDelivered?.arrivalNs);
    expect(motorSpeed?.value).toHaveLength(frames);
    expect(Array.from(pedal?.arrivalNs ?? [])).toEqual(Array.from({ length: frames / 2 }, (_, k) => k * 20e6));
    expect(Array.from(pedal?.adapterMs ?? [])).toEqual(Array.from({ length: frames / 2 }, (_, k) => 20 * k));
  }
  expect(tap.unknownValues).toBe(frames / 2);
  // From the 601st frame on.
  tap.dropBefore(600 * 10e6);
  const { motorSpeed, pedal } = tap.tracks("viewed").roles;
  expect(motorSpeed?.arrivalNs[0]).toBe(6000e6);
  expect(motorSpeed?.value).toHaveLength(100);
  expect(Array.from(pedal?.value ?? [])).toEqual(Array.from({ length: 50 }, (_, k) => k));
  expect(pedal?.arrivalNs[49]).toBe(6980e6);
});

test("roleTap() keeps the least late frame of each quarter second for the clock fit", () => {
  const tap = tapOf({});
  const batch = new FrameBatch();
  const parser = createSlcanParser();
  for (let ms = 0; ms < 120_000; ms += 10)
    parser.push(ascii(`t7000${(ms % 60_000).toString(16).padStart(4, "0")}\r`), (ms + 5 + ((ms * 7) % 13)) * 1e6, batch);
  tap.push(batch);
  const { adapterMs, arrivalNs } = tap.tracks().busClock;
  expect(adapterMs.length).toBe(480);
  for (let i = 0; i < 480; i++) expect(arrivalNs[i] / 1e6 - adapterMs[i]).toBe(5);
});

test.each([
  [
    { motorSpeed: plain("Drive.MotrSpeed") },
    "signals.motorSpeed: no signal Drive.MotrSpeed in the signal files; did you mean Drive.MotorSpeed",
  ],
  [{ pedal: plain("Inverter.Pedal") }, "did you mean Drive.Pedal"],
  [
    { pedal: plain("Drive.Bare") },
    "signals.pedal: signal Drive.Bare needs a unit that converts to %, got no unit in the signal file (line 10)",
  ],
  [{ motorSpeed: plain("Drive.Odd") }, 'signal Drive.Odd needs a unit that converts to rad/s, got "furlong"'],
  [{ torqueDelivered: plain("Drive.Pedal") }, 'signal Drive.Pedal needs a unit that converts to Nm, got "%"'],
  [{ drivenWheelSpeeds: [plain("Drive.Pedal")] }, "needs a unit that converts to m/s or rad/s"],
  [{ torqueDelivered: plain("Dead.Flat") }, "signal Dead.Flat has factor 0"],
])("createRoleTap() refuses %j by name and remedy", (signals, message) => {
  expect(() => tapOf(signals)).toThrow(message);
});

test.each([
  ["rpm", "rad/s", 60, 2 * Math.PI],
  ["1/min", "rad/s", 60, 2 * Math.PI],
  ["km/h", "m/s", 36, 10],
  ["kph", "m/s", 36, 10],
  // Exact by definition of the international mile (NIST SP 811).
  ["mph", "m/s", 1, 0.44704],
  ["kNm", "Nm", 1, 1000],
  ["\u00b0F", "degC", 212, 100],
  ["K", "degC", 273.15, 0],
  ["g", "m/s2", 1, 9.80665],
  ["m/s^2", "m/s2", 1, 1],
])("conversionOf(%j) gives %s", (unit, si, from, to) => {
  const conversion = conversionOf(unit);
  expect(conversion?.unit).toBe(si);
  expect(from * (conversion?.scale ?? Number.NaN) + (conversion?.offset ?? Number.NaN)).toBeCloseTo(to, 10);
});

test("scoreTalk() tells a receiver and an adapter from each other and from a wrong baud", () => {
  const receiver = readFileSync(capturePath("nmea-rtk.log")).subarray(1000, 3000);
  expect(scoreTalk(receiver)).toMatchObject({ talks: "nmea", slcan: 0 });
  const adapter = ascii("0011\rt1230\rt4563112233EA5F\r\rT1FFFFFFF8FFFFFFFFFFFFFFFF\rt12");
  expect(scoreTalk(adapter)).toMatchObject({ talks: "slcan", frames: 3, nmea: 0 });
  // A wrong baud garbles the bits: here each byte is sampled at half the rate.
  const wrong = Uint8Array.from({ length: receiver.length / 2 }, (_, i) => ((receiver[2 * i] & 0x55) << 1) | (receiver[2 * i + 1] & 0xaa));
  expect(scoreTalk(wrong).talks).toBeNull();
  expect(scoreTalk(new Uint8Array(0))).toMatchObject({ talks: null, nmea: 0, slcan: 0 });
});

test("roleTap.takePeaks() keeps a spike of one frame among many, and an answer is held against what was asked before it", () => {
  const tap = tapOf({
    motorSpeed: plain("Drive.MotorSpeed"),
    torqueDelivered: plain("Drive.TorqueDelivered"),
    torqueRequest: plain("Drive.TorqueRequest"),
  });
  const batch = new FrameBatch(1);
  const parser = createSlcanParser();
  expect(tap.takePeaks()).toEqual({ motorSpeed: null, heldNm: null });
  // 100, 600, 100 rpm; asked 100 lbft throughout; delivered 100.0, 12.5, 100.0 Nm.
  for (const [speed, delivered] of [
    ["6400", "E803"],
    ["5802", "7D00"],
    ["6400", "E803"],
  ])
    parser.push(ascii(`t1008${speed}${delivered}E80350000000\r`), 20e6, batch);
  tap.push(batch);
  const peaks = tap.takePeaks();
  expect(peaks.motorSpeed).toBeCloseTo(20 * Math.PI, 9);
  expect(peaks.heldNm).toBeCloseTo(135.58179483314004 - 12.5, 9);
  expect(tap.takePeaks()).toEqual({ motorSpeed: null, heldNm: null });
});
