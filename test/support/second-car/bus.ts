/** The second car's bus and its adapter: raw fields of each frame, adapter stamps, arrival in USB packets. */
import type { Trace } from "./dynamics.ts";
import { at } from "./dynamics.ts";
import { createRandom } from "./random.ts";
import { afterStalls, wholeMicros } from "./receiver.ts";
import type { Bus, Recipe } from "./recipe.ts";

/** One field of a message: 16 bits little-endian, signed where the quantity is. */
export interface Field {
  readonly signal: string;
  readonly role: string;
  readonly index: number | null;
  readonly factor: number;
  readonly signed: boolean;
  readonly unit: string;
  /** Physical value in `unit` at a moment. */
  readonly value: (tS: number) => number;
}

export interface Message {
  readonly id: number;
  readonly name: string;
  readonly fields: readonly Field[];
}

export interface Frame {
  readonly message: Message;
  readonly raw: readonly number[];
  /** Adapter clock, whole milliseconds, not yet wrapped. */
  readonly stampMs: number;
  readonly arrivalS: number;
}

export interface BusOutput {
  readonly messages: readonly Message[];
  readonly frames: readonly Frame[];
  /** Where the frames' base lies behind the instant a value was true, least case, s. */
  readonly leastLatencyS: number;
}

const RPM = 30 / Math.PI;
/** From sampling in the controller to the end of the frame, s. */
const FRAME_S = 0.00025;

/** The messages this bus carries; the factors are the steps of the printed values. */
function messagesOf(trace: Trace, recipe: Recipe): Message[] {
  const { bus, car } = recipe;
  const random = createRandom(recipe.seed * 104729 + 3);
  const column = (c: Float64Array) => (t: number) => at(trace, c, t);
  const wheel = (index: number, driven: boolean): Field => {
    const scale = (driven ? bus.drivenScale : bus.undrivenScale)[index];
    return {
      signal: `${driven ? "Rear" : "Front"}${index === 0 ? "Left" : "Right"}Speed`,
      role: driven ? "drivenWheelSpeeds" : "undrivenWheelSpeeds",
      index,
      factor: bus.wheelStepKmh,
      signed: false,
      unit: "km/h",
      value: (t) => {
        const mps = driven
          ? Math.abs(at(trace, trace.wheelRadps, t)) * car.rollingRadiusM
          : Math.abs(at(trace, trace.speedMps, t)) * (1 - at(trace, trace.undrivenSlip, t));
        if (mps < bus.undrivenThresholdMps || mps === 0) return 0;
        return Math.max(0, (mps / scale + bus.wheelNoiseMps * random.normal()) * 3.6);
      },
    };
  };
  const plain = (signal: string, role: string, factor: number, unit: string, value: (t: number) => number): Field => ({
    signal,
    role,
    index: null,
    factor,
    signed: true,
    unit,
    value,
  });
  const motor: Field[] = [];
  if (bus.motorSpeed)
    motor.push(plain("MotorSpeed", "motorSpeed", 1, "rpm", (t) => at(trace, trace.motorRadps, t) * RPM + 0.3 * random.normal()));
  if (bus.torque)
    motor.push(plain("TorqueDelivered", "torqueDelivered", 0.1, "Nm", (t) => at(trace, trace.deliveredNm, t) + 0.3 * random.normal()));
  const demand: Field[] = [plain("PedalPosition", "pedal", 0.1, "%", column(trace.pedalPercent))];
  if (bus.torque) {
    demand.push(plain("TorqueRequest", "torqueRequest", 0.1, "Nm", column(trace.requestNm)));
    demand.push(plain("TorqueCommand", "torqueCommand", 0.1, "Nm", column(trace.commandNm)));
  }
  demand.push(
    plain("LimiterSwitch", "tractionControlEnabled", 1, "", (t) => trace.control[Math.min(trace.length - 1, Math.floor(t / trace.stepS))]),
  );
  const messages: Message[] = [{ id: 0x2a1, name: "Demand", fields: demand }];
  if (motor.length > 0) messages.push({ id: 0x1b4, name: "Motor", fields: motor });
  if (bus.undriven) messages.push({ id: 0x3c0, name: "FrontWheels", fields: [wheel(0, false), wheel(1, false)] });
  if (bus.driven) messages.push({ id: 0x3c1, name: "RearWheels", fields: [wheel(0, true), wheel(1, true)] });
  return messages;
}

/** Gathers frames into USB packets: each waits for a tick of the latency timer, or until 62 bytes are full. */
function packetArrivals(frameS: readonly number[], bus: Bus): number[] {
  if (bus.latencyTimerMs === 0) return frameS.map((t) => t + bus.leastLatencyS);
  const timer = bus.latencyTimerMs / 1000;
  const arrivals = new Array<number>(frameS.length);
  let open = 0;
  let bytes = 0;
  let tick = frameS.length > 0 ? frameS[0] + timer / 2 : 0;
  const flush = (until: number, atS: number): void => {
    for (; open < until; open += 1) arrivals[open] = Math.max(atS, frameS[open]) + bus.leastLatencyS;
    bytes = 0;
    tick = atS + timer;
  };
  frameS.forEach((t, i) => {
    while (tick <= t) flush(i, tick);
    bytes += 26;
    if (bytes >= 62) flush(i + 1, t);
  });
  flush(frameS.length, tick);
  return arrivals;
}

/** Runs the bus over the whole drive. */
export function runBus(trace: Trace, recipe: Recipe): BusOutput {
  const { bus, stalls } = recipe;
  const random = createRandom(recipe.seed * 15485863 + 5);
  const messages = messagesOf(trace, recipe);
  const endS = (trace.length - 1) * trace.stepS;
  const period = 1 / bus.rateHz;
  const order: { message: Message; sampleS: number }[] = [];
  const phase = messages.map((_, i) => 0.002 + 0.0017 * i);
  for (let k = 0; k * period < endS - 0.02; k += 1) {
    messages.forEach((message, i) => {
      if (random.chance(bus.lossChance)) return;
      order.push({ message, sampleS: k * period + phase[i] + random.between(0, 0.0004) });
    });
  }
  order.sort((a, b) => a.sampleS - b.sampleS);
  const frameS = order.map((o) => o.sampleS + FRAME_S);
  const arrivals = packetArrivals(frameS, bus);
  const offsetMs = random.between(0, 59000);
  let last = 0;
  const frames = order.map(({ message, sampleS }, i): Frame => {
    const arrivalS = wholeMicros(Math.max(last, afterStalls(arrivals[i], stalls) + random.exponential(0.0002)));
    last = arrivalS;
    return {
      message,
      raw: message.fields.map((f) => Math.round(f.value(sampleS) / f.factor)),
      stampMs: Math.floor(frameS[i] * 1000 * (1 + bus.adapterPpm * 1e-6) + offsetMs),
      arrivalS,
    };
  });
  return { messages, frames, leastLatencyS: FRAME_S + bus.leastLatencyS };
}
