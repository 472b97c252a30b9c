/**
 * The bus of the simulated car as one table: both the signal file's text and the frames' bytes come from it. Never fails; values are
 * limited to each signal's range.
 */

/** `start` counts as in a signal file: least significant bit for Intel, most significant for Motorola. */
export interface BusSignal {
  readonly name: string;
  readonly start: number;
  readonly length: number;
  readonly order: "intel" | "motorola";
  readonly signed: boolean;
  readonly factor: number;
  readonly offset: number;
  readonly unit: string;
  /** The branch of the message's selector that contains it; the selector itself has `"selector"`. */
  readonly branch?: number | "selector";
  readonly labels?: Readonly<Record<number, string>>;
}

export interface BusMessage {
  readonly name: string;
  readonly id: number;
  readonly extended: boolean;
  readonly sender: string;
  readonly length: number;
  readonly periodMs: number;
  readonly phaseMs: number;
  readonly signals: readonly BusSignal[];
}

type Form = Omit<BusSignal, "name" | "start" | "length">;
const intel: Form = { order: "intel", signed: false, factor: 1, offset: 0, unit: "" };
const motorola: Form = { ...intel, order: "motorola" };
const signal = (name: string, start: number, length: number, form: Form, more: Partial<Form> = {}): BusSignal => ({
  name,
  start,
  length,
  ...form,
  ...more,
});
const nm: Partial<Form> = { signed: true, factor: 0.1, unit: "Nm" };
const kmh: Partial<Form> = { factor: 0.01, unit: "km/h" };
const degC = (branch: number): Partial<Form> => ({ signed: true, factor: 0.1, unit: "degC", branch });

export const BUS_MESSAGES: readonly BusMessage[] = [
  {
    name: "DriverInputs",
    id: 0x120,
    extended: false,
    sender: "Body",
    length: 4,
    periodMs: 10,
    phaseMs: 0,
    signals: [
      signal("PedalPosition", 0, 10, intel, { factor: 0.1, unit: "%" }),
      signal("BrakeApplied", 12, 1, intel, { labels: { 0: "released", 1: "applied" } }),
      signal("InputCounter", 24, 4, intel),
    ],
  },
  {
    name: "MotorState",
    id: 0x1a0,
    extended: false,
    sender: "Inverter",
    length: 8,
    periodMs: 10,
    phaseMs: 1,
    signals: [
      signal("MotorSpeed", 0, 16, intel, { signed: true, factor: 0.5, unit: "rpm" }),
      signal("TorqueDelivered", 16, 16, intel, nm),
      signal("MotorCounter", 56, 4, intel),
    ],
  },
  {
    name: "TorquePath",
    id: 0x1b0,
    extended: false,
    sender: "Inverter",
    length: 8,
    periodMs: 10,
    phaseMs: 2,
    signals: [
      signal("TorqueRequest", 7, 16, motorola, nm),
      signal("TorqueCommand", 23, 16, motorola, nm),
      signal("TorqueLimit", 39, 16, motorola, nm),
      signal("TractionControlEnabled", 55, 1, motorola, { labels: { 0: "off", 1: "on" } }),
      signal("TractionControlActive", 54, 1, motorola, { labels: { 0: "idle", 1: "intervening" } }),
    ],
  },
  {
    name: "FrontWheels",
    id: 0x0c8,
    extended: false,
    sender: "Brakes",
    length: 4,
    periodMs: 10,
    phaseMs: 4,
    signals: [signal("FrontLeftSpeed", 7, 16, motorola, kmh), signal("FrontRightSpeed", 23, 16, motorola, kmh)],
  },
  {
    name: "RearWheels",
    id: 0x0ca,
    extended: false,
    sender: "Brakes",
    length: 4,
    periodMs: 10,
    phaseMs: 5,
    signals: [signal("RearLeftSpeed", 7, 16, motorola, kmh), signal("RearRightSpeed", 23, 16, motorola, kmh)],
  },
  {
    name: "BatteryState",
    id: 0x18ff4a20,
    extended: true,
    sender: "Battery",
    length: 6,
    periodMs: 100,
    phaseMs: 7,
    signals: [
      signal("BatteryVoltage", 0, 16, intel, { factor: 0.1, unit: "V" }),
      signal("BatteryCurrent", 16, 16, intel, { signed: true, factor: 0.1, unit: "A" }),
      signal("StateOfCharge", 32, 10, intel, { factor: 0.1, unit: "%" }),
    ],
  },
  {
    name: "Temperatures",
    id: 0x3d0,
    extended: false,
    sender: "Battery",
    length: 3,
    periodMs: 50,
    phaseMs: 8,
    signals: [
      signal("TemperatureOf", 0, 2, intel, { branch: "selector", labels: { 0: "motor", 1: "inverter", 2: "battery" } }),
      signal("MotorTemperature", 8, 12, intel, degC(0)),
      signal("InverterTemperature", 8, 12, intel, degC(1)),
      signal("BatteryTemperature", 8, 12, intel, degC(2)),
    ],
  },
];

/** Writes one physical value into a frame's bytes, rounded to the signal's step and limited to its range. */
export function putSignal(s: BusSignal, value: number, data: Uint8Array): void {
  const low = s.signed ? -(2 ** (s.length - 1)) : 0;
  const high = low + 2 ** s.length - 1;
  const raw = Math.min(high, Math.max(low, Math.round((value - s.offset) / s.factor)));
  let bit = s.start;
  for (let i = 0; i < s.length; i += 1) {
    const from = s.order === "intel" ? i : s.length - 1 - i;
    if ((raw >> from) & 1) data[bit >> 3] = data[bit >> 3] | (1 << (bit & 7));
    // Motorola runs from a byte's low bit on to the next byte's high bit.
    bit += s.order === "intel" ? 1 : (bit & 7) === 0 ? 15 : -1;
  }
}
