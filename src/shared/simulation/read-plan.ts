/** Checks a plan from a file and fills in what it leaves out. An error throws one RangeError: the place, what was expected, what came. */
import { defaultDayPlan } from "./default-day.ts";
import { type DayPlan, DEFAULT_LAUNCH, type Segment } from "./plan.ts";
import type { ControlSetting } from "./traction-control.ts";

type Check = (value: unknown, place: string) => unknown;
type Shape = Readonly<Record<string, Check>>;

const DECOY_NAMES = ["falseStart", "creep", "push", "reverse", "spin", "driveBack"];
// Bits of RMC, VTG and GGA in one epoch at their longest, with start and stop bit for each byte.
const BITS_AN_EPOCH = 2200;

function refuse(place: string, expected: string, value: unknown): never {
  throw new RangeError(`Plan: ${place}: expected ${expected}, got ${JSON.stringify(value) ?? "nothing"}`);
}

const number =
  (low: number, high: number): Check =>
  (value, place) =>
    typeof value === "number" && value >= low && value <= high ? value : refuse(place, `a number from ${low} to ${high}`, value);
const oneOf =
  (...choices: readonly unknown[]): Check =>
  (value, place) =>
    choices.includes(value) ? value : refuse(place, `one of ${choices.map((choice) => JSON.stringify(choice)).join(", ")}`, value);
const yesNo: Check = oneOf(true, false);
const text: Check = (value, place) =>
  typeof value === "string" && value !== "" && value.length <= 80 ? value : refuse(place, "a text of 1 to 80 characters", value);
const list =
  (each: Check): Check =>
  (value, place) =>
    Array.isArray(value) ? value.map((item, i) => each(item, `${place}[${i}]`)) : refuse(place, "a list", value);

/** An object with the shape's keys; `needed` names those without a default. */
const object =
  (shape: Shape, needed: readonly string[] = []): Check =>
  (value, place) => {
    if (typeof value !== "object" || value === null || Array.isArray(value)) return refuse(place, "an object", value);
    const out: Record<string, unknown> = {};
    for (const [key, item] of Object.entries(value)) {
      const check = Object.hasOwn(shape, key) ? shape[key] : undefined;
      if (check === undefined) return refuse(place, `no other keys than ${Object.keys(shape).join(", ")}`, key);
      out[key] = check(item, `${place}.${key}`);
    }
    for (const key of needed) if (!(key in out)) return refuse(`${place}.${key}`, "a value", undefined);
    return out;
  };

/** Whole milliseconds, given in seconds: the simulated control steps once a millisecond. */
const milliseconds =
  (low: number, high: number): Check =>
  (value, place) =>
    typeof value === "number" && value >= low && value <= high && Math.abs(value * 1e3 - Math.round(value * 1e3)) < 1e-6
      ? value
      : refuse(place, `whole milliseconds, in seconds, from ${low} to ${high}`, value);
const control = object({
  slip: number(0.005, 0.6),
  everyS: milliseconds(0.001, 1),
  lateS: milliseconds(0, 0.5),
  strength: number(0.05, 4),
});
const span = object({ atS: number(0, 1e5), seconds: number(0, 600) }, ["atS", "seconds"]);
const KIND = { kind: text };
const SEGMENTS: Readonly<Record<string, Check>> = {
  gentle: object({ ...KIND, seconds: number(1, 3600) }, ["seconds"]),
  drive: object({ ...KIND, metres: number(1, 10000), kmh: number(3, 110) }, ["metres", "kmh"]),
  turn: object(KIND),
  stand: object({ ...KIND, seconds: number(0, 3600) }, ["seconds"]),
  decoy: object({ ...KIND, what: oneOf(...DECOY_NAMES) }, ["what"]),
  launch: object({
    ...KIND,
    label: text,
    tractionControl: yesNo,
    surface: oneOf("dry", "wet"),
    rampS: number(0.02, 5),
    // What the brakes can hold without slipping tyres.
    staticHoldNm: number(0, 150),
    pedalPercent: number(51, 100),
    eases: yesNo,
    standS: number(1, 600),
    toKmh: number(20, 215),
    grip: number(0, 1.5),
    control,
  }),
};

const segment: Check = (value, place) => {
  const kind = typeof value === "object" && value !== null && "kind" in value ? value.kind : undefined;
  const check = typeof kind === "string" && Object.hasOwn(SEGMENTS, kind) ? SEGMENTS[kind] : undefined;
  if (check === undefined) return refuse(`${place}.kind`, `one of ${Object.keys(SEGMENTS).join(", ")}`, kind);
  const checked = check(value, place) as Segment;
  return checked.kind === "launch" ? { ...DEFAULT_LAUNCH, ...checked } : checked;
};

const plan = object({
  startUnixS: (value, place) =>
    Number.isInteger(value) ? number(0, 4102444799)(value, place) : refuse(place, "whole seconds since 1970", value),
  wallOffsetS: number(-3600, 3600),
  hostPpm: number(-500, 500),
  charge: number(0.1, 1),
  stalls: list(span),
  car: object({ rollingRadiusM: number(0.2, 0.5), slope: number(-0.05, 0.05), torqueReportScale: number(0.8, 1.2) }),
  control,
  receiver: object({
    // Rates whose period is a whole number of milliseconds, as the time field needs.
    rateHz: oneOf(1, 2, 4, 5, 8, 10, 20, 25),
    whiteMps: number(0, 2),
    correlatedMps: number(0, 2),
    correlationS: number(0, 100),
    delayS: number(0.01, 0.4),
    jitterS: number(0, 0.1),
    atRest: oneOf("noisy", "held"),
    baud: oneOf(0, 9600, 19200, 38400, 57600, 115200, 230400, 460800, 921600),
    gsa: yesNo,
    zda: yesNo,
    lostFix: list(span),
  }),
  bus: object({
    driftPpm: number(-1000, 1000),
    stamps: yesNo,
    burstS: number(0, 0.05),
    jitterS: number(0, 0.005),
    restartsAtS: list(number(0, 1e5)),
    frontWheelSensors: yesNo,
    rearWheelSensors: yesNo,
    thresholdKmh: number(0, 10),
  }),
  segments: list(segment),
});

/** The whole plan from untrusted JSON; missing keys are as on the demo day of `seed`. */
export function readPlan(raw: unknown, seed: number): DayPlan {
  const given = plan(raw, "plan") as Partial<DayPlan>;
  const usual = defaultDayPlan(seed);
  const whole: DayPlan = {
    ...usual,
    ...given,
    control: { ...usual.control, ...given.control },
    receiver: { ...usual.receiver, ...given.receiver },
    bus: { ...usual.bus, ...given.bus },
  };
  const { baud, rateHz } = whole.receiver;
  if (baud > 0 && rateHz * BITS_AN_EPOCH > baud)
    refuse("plan.receiver.baud", `at least ${rateHz * BITS_AN_EPOCH} for ${rateHz} Hz, or 0`, baud);
  return whole;
}

/** The setting of a control by itself, whole or in part. */
export const checkControl = (raw: unknown, place: string) => control(raw, place) as Partial<ControlSetting>;
