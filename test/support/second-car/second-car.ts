/**
 * A second, independent source of drives with known truth: other tyre, twisting driveline, lagging receiver.
 * Shares no code with src/shared/simulation. A recipe that cannot be driven throws.
 */
import type { SetUp } from "../../../src/shared/setup/set-up.ts";
import type { ClockObservations, EpochTrack, RecordingTracks, SignalTrack } from "../../../src/shared/signals/tracks.ts";
import type { BusOutput, Frame, Message } from "./bus.ts";
import { runBus } from "./bus.ts";
import type { Trace } from "./dynamics.ts";
import { drive } from "./dynamics.ts";
import type { ReceiverOutput } from "./receiver.ts";
import { receive } from "./receiver.ts";
import type { Recipe } from "./recipe.ts";
import type { TrueLaunch } from "./truth.ts";
import { launchesOf } from "./truth.ts";

const MPS_PER_KNOT = 1852 / 3600;
const KMH = 1 / 3.6;

export interface SecondCarDrive {
  readonly recipe: Recipe;
  readonly trace: Trace;
  readonly bus: BusOutput;
  readonly receiver: ReceiverOutput;
  readonly truth: DriveTruth;
}

interface DriveTruth {
  readonly rollingRadiusM: number;
  /** On the base that bus frames use. */
  readonly gnssDelayS: number;
  /** Base time minus drive time, s: bus frames reach the host this much after the instant their value was true. */
  readonly baseShiftS: number;
  readonly launches: readonly TrueLaunch[];
}

/** Drives a recipe and records it. */
export function recordDrive(recipe: Recipe): SecondCarDrive {
  const trace = drive(recipe);
  const bus = runBus(trace, recipe);
  const receiver = receive(trace, recipe);
  const shift = bus.leastLatencyS;
  return {
    recipe,
    trace,
    bus,
    receiver,
    truth: {
      rollingRadiusM: recipe.car.rollingRadiusM,
      gnssDelayS: receiver.delayS - shift,
      baseShiftS: shift,
      launches: launchesOf(trace, recipe),
    },
  };
}

/** The set-up a careful owner would write: nominal radius and scales a few percent off, delay unknown. */
export function setUpOf(recipe: Recipe): SetUp {
  const { car, bus } = recipe;
  const one = (signal: string) => ({ signal, invert: false });
  return {
    car: {
      name: "Odrel, second generator",
      // Weighed to about 1 %.
      massKg: Math.round((car.massKg * (1 + 0.01 * Math.sin(recipe.seed))) / 10) * 10,
      drivenAxle: car.drivenAxle,
      gearRatio: car.gearRatio,
      rollingRadiusM: Math.round(car.rollingRadiusM * 1.012 * 1000) / 1000,
      wheelbaseM: car.wheelbaseM,
      cgHeightM: car.cgHeightM,
      frontWeightShare: car.frontWeightShare,
      wheelInertiaKgM2: Math.round((car.wheelsKgM2 + car.rotorKgM2 * car.gearRatio ** 2) * 10) / 10,
      dragAreaM2: Math.round(car.dragAreaM2 * 20) / 20,
    },
    sources: {},
    database: ["car.dbc"],
    signals: {
      ...(bus.motorSpeed ? { motorSpeed: one("Motor.MotorSpeed") } : {}),
      ...(bus.torque
        ? {
            torqueRequest: one("Demand.TorqueRequest"),
            torqueCommand: one("Demand.TorqueCommand"),
            torqueDelivered: one("Motor.TorqueDelivered"),
          }
        : {}),
      pedal: one("Demand.PedalPosition"),
      tractionControlEnabled: one("Demand.LimiterSwitch"),
      ...(bus.undriven ? { undrivenWheelSpeeds: [one("FrontWheels.FrontLeftSpeed"), one("FrontWheels.FrontRightSpeed")] } : {}),
      ...(bus.driven ? { drivenWheelSpeeds: [one("RearWheels.RearLeftSpeed"), one("RearWheels.RearRightSpeed")] } : {}),
    },
  };
}

const TO_SI: Readonly<Record<string, readonly [number, string]>> = {
  rpm: [Math.PI / 30, "rad/s"],
  "km/h": [KMH, "m/s"],
  Nm: [1, "Nm"],
  "%": [1, "%"],
  "": [1, ""],
};

/** One message's frames as the columns its signals share. */
interface Stream {
  readonly frames: readonly Frame[];
  readonly arrivalNs: Float64Array;
  readonly adapterMs: Float64Array;
}

function streamsOf(drive: SecondCarDrive): Map<Message, Stream> {
  const stamps = drive.recipe.bus.stamps;
  const sorted = new Map<Message, Frame[]>();
  for (const frame of drive.bus.frames) {
    const frames = sorted.get(frame.message);
    if (frames === undefined) sorted.set(frame.message, [frame]);
    else frames.push(frame);
  }
  const streams = new Map<Message, Stream>();
  for (const [message, frames] of sorted) {
    const arrivalNs = Float64Array.from(frames, (f) => Math.round(f.arrivalS * 1e6) * 1e3);
    streams.set(message, { frames, arrivalNs, adapterMs: Float64Array.from(frames, (f) => (stamps ? f.stampMs : Number.NaN)) });
  }
  return streams;
}

function trackOf(message: Message, { frames, arrivalNs, adapterMs }: Stream, position: number): SignalTrack {
  const field = message.fields[position];
  const [scale, unit] = TO_SI[field.unit];
  const quantum = field.factor * scale;
  const value = new Float64Array(frames.length);
  for (let i = 0; i < value.length; i += 1) value[i] = frames[i].raw[position] * quantum;
  return {
    name: `${message.name}.${field.signal}`,
    arrivalNs,
    adapterMs,
    clockSegment: new Uint16Array(frames.length),
    value,
    quantum,
    unit,
  };
}

/** Least arrival delay in each 50 ms stretch of adapter time. */
function clockOf(drive: SecondCarDrive): ClockObservations {
  const stamps: number[] = [];
  const arrivals: number[] = [];
  let stretch = -1;
  if (drive.recipe.bus.stamps) {
    for (const f of drive.bus.frames) {
      const ns = Math.round(f.arrivalS * 1e6) * 1e3;
      const here = Math.floor(f.stampMs / 50);
      const end = stamps.length - 1;
      if (here !== stretch) {
        stamps.push(f.stampMs);
        arrivals.push(ns);
        stretch = here;
      } else if (ns - f.stampMs * 1e6 < arrivals[end] - stamps[end] * 1e6) {
        stamps[end] = f.stampMs;
        arrivals[end] = ns;
      }
    }
  }
  return { adapterMs: Float64Array.from(stamps), arrivalNs: Float64Array.from(arrivals), clockSegment: new Uint16Array(stamps.length) };
}

/** The drive as decoded columns: what import of its logs yields, without the detour through bytes. */
export function tracksOf(drive: SecondCarDrive): RecordingTracks {
  const roles: Record<string, SignalTrack | SignalTrack[]> = {};
  const streams = streamsOf(drive);
  for (const message of drive.bus.messages) {
    const stream = streams.get(message);
    if (stream === undefined) continue;
    message.fields.forEach((field, position) => {
      const track = trackOf(message, stream, position);
      if (field.index === null) roles[field.role] = track;
      else roles[field.role] = [...((roles[field.role] as SignalTrack[] | undefined) ?? []), track];
    });
  }
  const { epochs } = drive.receiver;
  const column = (pick: (e: (typeof epochs)[number]) => number) => Float64Array.from(epochs, pick);
  const track: EpochTrack = {
    arrivalNs: column((e) => Math.round(e.arrivalS * 1e6) * 1e3),
    burstBytes: column(() => 146),
    utcMs: column((e) => e.utcMs),
    dated: true,
    speedMps: column((e) => e.knots * MPS_PER_KNOT),
    speedQuantumMps: column(() => drive.receiver.stepMps),
    courseDeg: column((e) => e.courseDeg),
    latDeg: column((e) => e.latDeg),
    lonDeg: column((e) => e.lonDeg),
    altM: column((e) => e.altM),
    hdop: column(() => 0.8),
    satellites: column(() => 14),
    fix: epochs.map(() => "3d"),
  };
  return {
    roles,
    busClock: clockOf(drive),
    epochs: track,
    gaps: [],
    endNs: Math.round((drive.trace.length - 1) * drive.trace.stepS * 1e9),
  };
}
