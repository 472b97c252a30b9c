/** A signal file with 300 signals of meaningless names, and the bus of a short drive on it: a small model of its own. */
import { FrameBatch } from "../../../src/shared/frames/frame-batch.ts";
import { createSignalDatabase } from "../../../src/shared/dbc/dbc-decode.ts";
import { parseDbc } from "../../../src/shared/dbc/dbc-file.ts";
import { createSignalSurvey, type SignalSurvey } from "../../../src/shared/signals/signal-survey.ts";

export const CAR = { gearRatio: 9.2, rollingRadiusM: 0.324, massKg: 1480 };
const STEP_S = 0.01;
const SECONDS = 100;
const COUNT = 300;

interface Moment {
  t: number;
  v: number;
  a: number;
  pedal: number;
  brake: number;
  request: number;
  command: number;
  delivered: number;
  wheel: number;
  active: number;
  charge: number;
}

/** mulberry32: a small public-domain generator. */
function randomFrom(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4294967296;
  };
}

function driveOnce(random: () => number): Moment[] {
  const moments: Moment[] = [];
  let v = 0;
  let pedal = 0;
  let brake = 0;
  let command = 0;
  let delivered = 0;
  let spin = 0;
  let charge = 60 + 30 * random();
  let aim = { pedal: 0, brake: 0, until: 2 };
  for (let t = 0; t < SECONDS; t += STEP_S) {
    if (t > aim.until || (v > 32 && aim.pedal > 0) || (v < 0.3 && aim.brake > 0)) {
      const push = v < 1 ? true : v < 30 && random() < 0.6;
      const hard = random() < 0.35;
      aim = push
        ? { pedal: hard ? 100 : 15 + 40 * random(), brake: 0, until: t + 2 + 4 * random() }
        : { pedal: 0, brake: random() < 0.6 ? 20 + 40 * random() : 0, until: t + 1 + 3 * random() };
    }
    pedal += Math.max(-400, Math.min(400, (aim.pedal - pedal) / 0.05)) * STEP_S;
    brake += Math.max(-200, Math.min(200, (aim.brake - brake) / 0.1)) * STEP_S;
    const request = pedal > 1 ? 3.1 * pedal : v > 2 ? -35 : 0;
    const grip = 210;
    const active = request > grip && v < 14 ? 1 : 0;
    command += ((active ? grip * 0.93 : request) - command) * (STEP_S / 0.04);
    delivered += (command - delivered) * (STEP_S / 0.05);
    const a = (delivered * CAR.gearRatio) / (CAR.rollingRadiusM * CAR.massKg) - 0.08 * brake - (v > 0 ? 0.12 + 0.0004 * v * v : 0);
    v = Math.max(0, v + a * STEP_S);
    spin += ((active ? 2.2 : 0) - spin) * (STEP_S / 0.15);
    charge -= (Math.max(0, delivered) * v * 28 * STEP_S) / 8e6 + 0.0008 * STEP_S;
    moments.push({ t, v, a, pedal, brake, request, command, delivered, wheel: v * (1 + delivered / 9000) + spin, active, charge });
  }
  return moments;
}

interface Shape {
  unit: string;
  factor: number;
  role?: string;
  value: (moment: Moment, index: number) => number;
}

function wander(random: () => number, low: number, high: number, pace: number): (moment: Moment, index: number) => number {
  let level = low + (high - low) * random();
  return () => {
    level = Math.min(high, Math.max(low, level + (random() - 0.5) * pace * (high - low)));
    return level;
  };
}

function shapesOf(random: () => number): Shape[] {
  const rpm = 30 / Math.PI;
  const flip = random() < 0.5 ? -1 : 1;
  const wheel = (driven: boolean, scale: number): Shape => ({
    unit: "km/h",
    factor: 0.02,
    role: driven ? "drivenWheelSpeeds" : "undrivenWheelSpeeds",
    value: ({ v, wheel: w }) => (driven ? w : v) * 3.6 * scale + 0.04 * (random() - 0.5),
  });
  const known: Shape[] = [
    { unit: "rpm", factor: 1, role: "motorSpeed", value: ({ wheel: w }) => ((flip * w) / CAR.rollingRadiusM) * CAR.gearRatio * rpm },
    { unit: "Nm", factor: 0.1, role: "torqueRequest", value: ({ request }) => request + 0.2 * (random() - 0.5) },
    { unit: "Nm", factor: 0.1, role: "torqueDelivered", value: ({ delivered }) => delivered + 1.5 * (random() - 0.5) },
    { unit: "%", factor: 0.4, role: "pedal", value: ({ pedal }) => pedal },
    { unit: "%", factor: 0.1, role: "stateOfCharge", value: ({ charge }) => charge },
    { unit: "", factor: 1, role: "tractionControlActive", value: ({ active }) => active },
    wheel(true, 1.004),
    wheel(true, 0.998),
    wheel(false, 1.002),
    wheel(false, 0.997),
  ];
  const decoys: Shape[] = [
    { unit: "%", factor: 0.4, value: ({ brake }) => brake },
    { unit: "Nm", factor: 1, value: ({ delivered }) => delivered * CAR.gearRatio },
    { unit: "Nm", factor: 0.1, value: ({ brake, v }) => (v > 0.3 ? -12 * brake : 0) },
    { unit: "rpm", factor: 1, value: ({ wheel: w }) => (w / CAR.rollingRadiusM) * rpm * 3.1 },
    { unit: "km/h", factor: 1, value: ({ v }) => Math.round(v * 3.6 * 1.06) },
    { unit: "", factor: 1, value: ({ brake }) => (brake > 2 ? 1 : 0) },
    { unit: "", factor: 1, value: ({ pedal }) => (pedal < 1 ? 1 : 0) },
    { unit: "V", factor: 0.1, value: ({ delivered, v }) => 380 - (delivered * v) / 150 },
    { unit: "A", factor: 0.1, value: ({ delivered, v }) => (delivered * v * 28) / 380 },
    { unit: "m/s2", factor: 0.01, value: ({ a }) => a },
  ];
  const noise = (): Shape => {
    const [unit, low, high, factor] = [
      ["%", 0, 100, 0.5],
      ["degC", 10, 90, 0.5],
      ["V", 11, 15, 0.01],
      ["A", -20, 60, 0.1],
      ["rpm", 0, 6000, 1],
      ["Nm", -8, 8, 0.01],
      ["km/h", 0, 130, 0.1],
      ["", 0, 1, 1],
      ["bar", 0, 10, 0.01],
    ][Math.floor(random() * 9)] as [string, number, number, number];
    const still = random() < 0.3 ? low + (high - low) * random() : null;
    const move = wander(random, low, high, unit === "" ? 0.2 : 0.01 + 0.05 * random());
    return { unit, factor, value: (moment, index) => still ?? (unit === "" ? Math.round(move(moment, index)) : move(moment, index)) };
  };
  const all = [...known, ...decoys];
  while (all.length < COUNT) all.push(noise());
  for (let i = all.length - 1; i > 0; i--) {
    const j = Math.floor(random() * (i + 1));
    [all[i], all[j]] = [all[j], all[i]];
  }
  return all;
}

export interface MeaninglessFile {
  survey: SignalSurvey;
  /** True signals by role. */
  truth: Map<string, string[]>;
  /** Whether the motor counts backwards in this file. */
  motorReversed: boolean;
}

export function meaninglessFile(seed: number): MeaninglessFile {
  const random = randomFrom(seed);
  const shapes = shapesOf(random);
  const truth = new Map<string, string[]>();
  let text = 'VERSION ""\nBU_: X\n';
  shapes.forEach(({ unit, factor, role }, i) => {
    if (i % 4 === 0) text += `BO_ ${256 + i / 4} M${256 + i / 4}: 8 X\n`;
    text += ` SG_ S${i} : ${16 * (i % 4)}|${unit === "" ? 1 : 16}@1${unit === "" ? "+" : "-"} (${factor},0) [0|0] "${unit}" X\n`;
    const name = `M${256 + Math.floor(i / 4)}.S${i}`;
    if (role !== undefined) truth.set(role, [...(truth.get(role) ?? []), name]);
  });
  const survey = createSignalSurvey(createSignalDatabase([parseDbc("meaningless.dbc", text)]), SECONDS);
  const moments = driveOnce(random);
  const batch = new FrameBatch(4096);
  moments.forEach((moment, k) => {
    const arrivalNs = Math.round(moment.t * 1e9) + 2e6;
    if (k % 10 === 0) survey.pushSpeed(arrivalNs, Math.abs(moments[Math.max(0, k - 8)].v + 0.03 * (random() + random() - 1)));
    // Each message every 20 ms, half of them on each step.
    for (let m = k % 2; m < COUNT / 4; m += 2) {
      const raw = [0, 1, 2, 3].map((j) => Math.round(shapes[4 * m + j].value(moment, k) / shapes[4 * m + j].factor) & 0xffff);
      const row = batch.addRow();
      batch.arrivalNs[row] = arrivalNs;
      batch.id[row] = 256 + m;
      batch.flags[row] = 0;
      batch.byteLength[row] = 8;
      batch.poolStart[row] = -1;
      const swap = (word: number) => ((word & 0xff) << 8) | (word >>> 8);
      batch.word0[row] = (swap(raw[0]) << 16) | swap(raw[1]);
      batch.word1[row] = (swap(raw[2]) << 16) | swap(raw[3]);
    }
    survey.push(batch, null);
    batch.clear();
  });
  const motor = truth.get("motorSpeed")?.[0];
  const motorReversed = (survey.signals().find(({ decoder }) => decoder.name === motor)?.min ?? 0) < -500;
  return { survey, truth, motorReversed };
}
