/** A small generator of gentle driving with known truth, for the alignment tests. Plain kinematics and a linear tyre; no product code. */
import type { RecordingTracks, SignalTrack } from "../../../src/shared/signals/tracks.ts";
import type { SetUp } from "../../../src/shared/setup/set-up.ts";

export interface DriveTruth {
  radiusM: number;
  delayS: number;
  slipPerNm: number;
  driftPpm: number;
  utcDriftPpm: number;
  whiteMps: number;
  correlatedMps: number;
  correlationS: number;
  undrivenScale: number;
  receiverLagS: number;
}

export interface DriveOptions {
  seed: number;
  seconds: number;
  rateHz: number;
  undriven: boolean;
  jitter: "small" | "burst";
  truth: Partial<DriveTruth>;
  wallClockStepMs?: number;
  speeds?: readonly [number, number];
  /** A hilly road: standard deviation of its slope (rise over run), which changes over about `hillM` metres. */
  hills?: { readonly slope: number; readonly hillM: number };
}

export const SET_UP: SetUp = {
  car: { name: "Odrel", massKg: 1480, drivenAxle: "rear", gearRatio: 9, tyre: "265/35R19", wheelInertiaKgM2: 0 },
  sources: {},
  database: ["car.dbc"],
  signals: {
    motorSpeed: { signal: "Motor.Speed", invert: false },
    torqueRequest: { signal: "Motor.Request", invert: false },
    torqueDelivered: { signal: "Motor.Torque", invert: false },
    pedal: { signal: "Motor.Pedal", invert: false },
    undrivenWheelSpeeds: [
      { signal: "Wheels.Left", invert: false },
      { signal: "Wheels.Right", invert: false },
    ],
  },
};

export function random(seed: number): { uniform: () => number; normal: () => number } {
  let state = seed >>> 0;
  // mulberry32, public domain.
  const uniform = () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
  const normal = () => Math.sqrt(-2 * Math.log(1 - uniform())) * Math.cos(2 * Math.PI * uniform());
  return { uniform, normal };
}

export function gentleDrive(options: DriveOptions): { tracks: RecordingTracks; truth: DriveTruth } {
  const { uniform, normal } = random(options.seed);
  const truth: DriveTruth = {
    radiusM: 0.31 + 0.03 * uniform(),
    delayS: 0.02 + 0.18 * uniform(),
    slipPerNm: 0.5e-4 + 0.7e-4 * uniform(),
    driftPpm: 400 * uniform() - 200,
    utcDriftPpm: 60 * uniform() - 30,
    whiteMps: 0.03,
    correlatedMps: 0,
    correlationS: 1,
    undrivenScale: 1 + 0.02 * (uniform() - 0.5),
    receiverLagS: 0,
    ...options.truth,
  };
  const massKg = 1480;
  const ratio = 9;
  const dt = 0.005;
  const n = Math.round(options.seconds / dt);
  const v = new Float64Array(n);
  const torque = new Float64Array(n);
  const [low, high] = options.speeds ?? [10, 24];
  v[0] = low;
  let target = low;
  let nextS = 0;
  let a = 0;
  let slope = 0;
  for (let i = 1; i < n; i++) {
    const t = i * dt;
    if (t > nextS) {
      target = (target > (low + high) / 2 ? low : high) + 3 * normal();
      nextS = t + 6 + 8 * uniform();
    }
    const wanted = Math.max(-1.3, Math.min(1.5, 0.4 * (target - v[i - 1])));
    a += (dt / 0.5) * (wanted - a);
    v[i] = v[i - 1] + a * dt;
    if (options.hills !== undefined) {
      const keep = Math.exp((-v[i] * dt) / options.hills.hillM);
      slope = keep * slope + options.hills.slope * Math.sqrt(1 - keep * keep) * normal();
    }
    const forceN = massKg * (a + 9.80665 * slope) + 0.4 * v[i] ** 2 + 0.012 * 9.80665 * massKg;
    torque[i] = (forceN * truth.radiusM) / ratio;
  }
  torque[0] = torque[1];
  const at = (column: Float64Array, t: number) => {
    const place = Math.max(0, Math.min(n - 1.001, t / dt));
    const i = Math.floor(place);
    return column[i] + (place - i) * (column[i + 1] - column[i]);
  };
  const late = () => (options.jitter === "small" ? 0.3 - 0.3 * Math.log(1 - uniform()) : 16 * uniform());
  const adapterRate = 1 + truth.driftPpm * 1e-6;
  const frames: { t: number; arrivalNs: number; stampMs: number }[] = [];
  let before = 0;
  for (let t = 0.5; t < options.seconds - 0.5; t += 0.01) {
    const stall = t > 50 && t < 52 ? (52 - t) * 1e3 : 0;
    before = Math.max(before, t * 1e3 + 0.2 + late() + stall);
    frames.push({ t, arrivalNs: Math.round(before * 1e3) * 1e3, stampMs: Math.floor(t * 1e3 * adapterRate + 12345.6) });
  }
  const column = (name: string, unit: string, quantum: number, value: (t: number) => number): SignalTrack => ({
    name,
    unit,
    quantum,
    arrivalNs: Float64Array.from(frames, (f) => f.arrivalNs),
    adapterMs: Float64Array.from(frames, (f) => f.stampMs),
    clockSegment: new Uint16Array(frames.length),
    value: Float64Array.from(frames, (f) => Math.round(value(f.t) / quantum) * quantum),
  });
  const motor = (t: number) => (at(v, t) * (1 + truth.slipPerNm * at(torque, t)) * ratio) / truth.radiusM;
  const filtered = new Float64Array(n);
  filtered[0] = v[0];
  for (let i = 1; i < n; i++)
    filtered[i] = truth.receiverLagS > 0 ? filtered[i - 1] + (dt / (truth.receiverLagS + dt)) * (v[i] - filtered[i - 1]) : v[i];
  const epochs: { arrivalNs: number; utcMs: number; speed: number }[] = [];
  let wander = truth.correlatedMps * normal();
  const step = 1 / options.rateHz;
  for (let k = 0, t = 1; t < options.seconds - 1; k++, t = 1 + k * step) {
    const keep = Math.exp(-step / truth.correlationS);
    wander = keep * wander + truth.correlatedMps * Math.sqrt(1 - keep * keep) * normal();
    const speed = at(filtered, t) + wander + truth.whiteMps * normal();
    const utcMs = 1.9e12 + Math.round(1000 * k * step);
    // The epoch grid is the receiver's: t runs on the host, UTC drifts against it.
    const hostS = 1 + (k * step) / (1 + truth.utcDriftPpm * 1e-6);
    const lateS = options.jitter === "small" ? 0.002 * -Math.log(1 - uniform()) : 0.016 * uniform();
    epochs.push({
      arrivalNs: Math.round((hostS + truth.delayS - truth.receiverLagS + lateS) * 1e6) * 1e3,
      utcMs,
      speed: Math.round(speed / 0.01) * 0.01,
    });
  }
  const m = epochs.length;
  const unknown = () => new Float64Array(m).fill(Number.NaN);
  const tracks: RecordingTracks = {
    roles: {
      motorSpeed: column("Motor.Speed", "rad/s", 0.1047, motor),
      torqueDelivered: column("Motor.Torque", "Nm", 0.1, (t) => at(torque, t)),
      ...(options.undriven
        ? {
            undrivenWheelSpeeds: [
              column("Wheels.Left", "m/s", 0.01 / 3.6, (t) => at(v, t) / truth.undrivenScale),
              column("Wheels.Right", "m/s", 0.01 / 3.6, (t) => at(v, t) / truth.undrivenScale / 1.004),
            ],
          }
        : {}),
    },
    busClock: {
      adapterMs: Float64Array.from(frames, (f) => f.stampMs),
      arrivalNs: Float64Array.from(frames, (f) => f.arrivalNs),
      clockSegment: new Uint16Array(frames.length),
    },
    epochs: {
      arrivalNs: Float64Array.from(epochs, (e) => e.arrivalNs),
      burstBytes: new Float64Array(m).fill(150),
      utcMs: Float64Array.from(epochs, (e) => e.utcMs),
      dated: true,
      speedMps: Float64Array.from(epochs, (e) => e.speed),
      speedQuantumMps: new Float64Array(m).fill(0.01),
      courseDeg: unknown(),
      latDeg: unknown(),
      lonDeg: unknown(),
      altM: unknown(),
      hdop: new Float64Array(m).fill(0.8),
      satellites: new Float64Array(m).fill(14),
      fix: epochs.map(() => "3d" as const),
    },
    gaps: [],
    endNs: options.seconds * 1e9,
  };
  return { tracks, truth };
}
