/**
 * A compact launch generator for the tests of src/shared/run: a car integrated at 1 ms, with tyre curve, ramp, power limit,
 * optional hold and traction control, seen through noisy sensors straight into an AlignedRecording. Throws on unknown options.
 */
import type { AlignedRecording, TimedColumn } from "../../../src/shared/align/aligned-recording.ts";
import type { Calibration } from "../../../src/shared/align/calibration.ts";
import type { SetUp } from "../../../src/shared/setup/set-up.ts";
import type { Fix } from "../../../src/shared/signals/tracks.ts";

export interface LaunchOptions {
  readonly seed: number;
  readonly rateHz?: number;
  readonly whiteMps?: number;
  readonly correlatedMps?: number;
  readonly correlationS?: number;
  readonly rampS?: number;
  readonly peakMu?: number;
  readonly control?: boolean;
  readonly hold?: boolean;
  readonly sources?: "all" | "noUndriven" | "receiver";
  readonly heldZero?: boolean;
  /** Brake hard to standing after the lift. */
  readonly brake?: boolean;
  readonly liftAtMps?: number;
}

export interface GeneratedLaunch {
  readonly recording: AlignedRecording;
  readonly calibration: Calibration;
  readonly setUp: SetUp;
  /** True speed and distance each ms from t = 0. */
  readonly v: Float64Array;
  readonly wheel: Float64Array;
}

/** Mulberry32, then Box-Muller: small, seeded, the same everywhere. */
export function randomSource(seed: number) {
  let state = seed >>> 0;
  const uniform = () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let x = Math.imul(state ^ (state >>> 15), state | 1);
    x ^= x + Math.imul(x ^ (x >>> 7), x | 61);
    return ((x ^ (x >>> 14)) >>> 0) / 4294967296;
  };
  const normal = () => Math.sqrt(-2 * Math.log(1 - uniform())) * Math.cos(2 * Math.PI * uniform());
  return { uniform, normal };
}

export const SET_UP: SetUp = {
  car: { name: "Odrel", massKg: 1480, drivenAxle: "rear", gearRatio: 8.2, rollingRadiusM: 0.324, wheelInertiaKgM2: 3.4, dragAreaM2: 0.66 },
  sources: {},
  database: ["car.dbc"],
  signals: {},
};

export function generateLaunch(options: LaunchOptions): GeneratedLaunch {
  const { seed, rateHz = 10, whiteMps = 0.03, correlatedMps = 0, correlationS = 1, rampS = 0.3, peakMu = 1.05, control = true } = options;
  const { hold = false, sources = "all", heldZero = false, brake = false, liftAtMps = 46 } = options;
  const random = randomSource(seed);
  const dt = 0.001;
  const massKg = 1480 * (1 + 0.03 * random.normal());
  const inertia = 3.4 * (1 + 0.05 * random.normal());
  const radius = 0.324;
  const ratio = 8.2;
  const efficiency = 0.965;
  const startS = 6 + random.uniform();
  const peakTorque = 330 + 40 * random.uniform();
  const power = 185e3 + 20e3 * random.uniform();
  const n = 26_000;
  const v = new Float64Array(n);
  const wheel = new Float64Array(n);
  const torque = new Float64Array(n);
  const pedal = new Float64Array(n);
  let speed = 0;
  let spin = 0;
  let command = 0;
  let lifted = -1;
  let braking = 0;
  for (let i = 0; i < n; i++) {
    const t = i * dt;
    if (speed >= liftAtMps && lifted < 0) lifted = t;
    const on = t >= startS && lifted < 0;
    pedal[i] = on ? 100 : 0;
    let wanted = on ? Math.min(peakTorque, power / Math.max(1, spin * ratio)) : 0;
    const slipSpeed = spin * radius - speed;
    if (control && on && slipSpeed > 0.12 * Math.max(speed, 5))
      wanted *= Math.max(0.2, 1 - 0.35 * (slipSpeed / Math.max(speed, 5) - 0.12) * 25);
    const rate = (peakTorque / rampS) * (control && wanted < command ? 3 : 1);
    command += Math.max(-rate * dt * 2, Math.min(rate * dt, wanted - command));
    torque[i] = command;
    if (brake && lifted >= 0 && t > lifted + 0.4) braking = Math.min(8.5, braking + 40 * dt);
    // A tyre near standstill is stiff: wheel and car are integrated in finer steps there.
    const parts = speed < 10 ? 20 : 4;
    for (let part = 0; part < parts; part++) {
      const h = dt / parts;
      const kappa = (spin * radius - speed) / Math.max(speed, 0.6);
      const load = Math.min(massKg * 9.80665 * (0.52 + 0.02 * Math.min(5, speed)), massKg * 9.80665 * 0.62);
      const magic = 10 * kappa;
      const force = peakMu * load * Math.sin(1.9 * Math.atan(magic - 0.97 * (magic - Math.atan(magic))));
      const rolling = 0.011 * massKg * 9.80665;
      const still = speed === 0 && force < (hold ? 1500 : rolling);
      const push = still ? 0 : (force - rolling - 0.5 * 1.2 * 0.66 * speed * speed) / massKg - braking;
      spin = Math.max(0, spin + ((command * ratio * efficiency - force * radius) / inertia) * h);
      speed = Math.max(0, speed + push * h);
      if (braking > 0) spin = speed / radius;
    }
    if (speed === 0 && lifted >= 0 && t > lifted + 2) spin = 0;
    v[i] = speed;
    wheel[i] = spin * radius;
  }
  const delay = 0.062;
  const endS = n * dt;
  const column = (name: string, unit: string, quantum: number, noise: number, at: (i: number) => number, offset: number): TimedColumn => {
    const count = Math.floor(endS * 100) - 2;
    const tS = new Float64Array(count);
    const value = new Float64Array(count);
    for (let k = 0; k < count; k++) {
      const i = k * 10 + offset;
      tS[k] = i * dt + 0.0001 * random.normal();
      const raw = at(i) + noise * random.normal();
      value[k] = quantum > 0 ? Math.round(raw / quantum) * quantum : raw;
    }
    return { name, tS, value, quantum, unit };
  };
  const wheelQuantum = 0.01 / 3.6;
  const undriven = (k: number) =>
    column(`Wheels.Front${k}`, "m/s", wheelQuantum, 0.02, (i) => (v[i] < 0.5 ? 0 : v[i] / (1.003 + 0.002 * k)), 1 + 2 * k);
  const silent = (c: TimedColumn): TimedColumn => ({ ...c, value: c.value.map((x) => (Math.abs(x) < 0.5 ? 0 : x)) });
  const roles: AlignedRecording["roles"] =
    sources === "receiver"
      ? {}
      : {
          motorSpeed: column("Motor.Speed", "rad/s", Math.PI / 30, 0.05, (i) => (wheel[i] / radius) * ratio, 3),
          torqueDelivered: column("Motor.Torque", "Nm", 0.5, 0.5, (i) => torque[i], 3),
          torqueRequest: column("Motor.Request", "Nm", 0.5, 0, (i) => (pedal[i] > 0 ? peakTorque : 0), 3),
          pedal: column("Driver.Pedal", "%", 0.4, 0, (i) => pedal[i], 5),
          ...(sources === "all" ? { undrivenWheelSpeeds: [silent(undriven(0)), silent(undriven(1))] } : {}),
        };
  const epochs = Math.floor((endS - 0.2) * rateHz);
  const tS = new Float64Array(epochs);
  const speedMps = new Float64Array(epochs);
  let drift = correlatedMps * random.normal();
  let side = correlatedMps * random.normal();
  const keep = correlatedMps > 0 ? Math.exp(-1 / rateHz / correlationS) : 0;
  for (let k = 0; k < epochs; k++) {
    const at = k / rateHz + 0.0137;
    tS[k] = at + delay;
    drift = keep * drift + correlatedMps * Math.sqrt(1 - keep * keep) * random.normal();
    side = keep * side + correlatedMps * Math.sqrt(1 - keep * keep) * random.normal();
    const i = at / dt;
    const i0 = Math.floor(i);
    const truth = v[i0] + (i - i0) * (v[i0 + 1] - v[i0]);
    const seen = Math.hypot(truth + drift + whiteMps * random.normal(), side + whiteMps * random.normal());
    speedMps[k] = Math.round((heldZero && truth < 0.15 ? 0 : seen) / (1852 / 3600 / 1000)) * (1852 / 3600 / 1000);
  }
  const same = (x: number) => new Float64Array(epochs).fill(x);
  const recording: AlignedRecording = {
    roles,
    epochs: {
      tS,
      speedMps,
      burstBytes: same(200),
      utcMs: tS.map((t) => 1.9e12 + 1000 * t),
      dated: true,
      speedQuantumMps: same(1852 / 3600 / 1000),
      courseDeg: same(74),
      latDeg: same(-30),
      lonDeg: same(-20),
      altM: same(12),
      hdop: same(0.8),
      satellites: same(16),
      fix: new Array<Fix>(epochs).fill("3d"),
    },
    clocks: {
      can: { method: "stamps", driftPpm: 0, sigmaS: 0.0002, sharedSigmaS: 0.0002, medianDelayS: 0.001, worstDelayS: 0.004, segments: 1 },
      gnss: { method: "arrival", driftPpm: 0, sigmaS: 0.0005, sharedSigmaS: 0.0005, medianDelayS: 0.001, worstDelayS: 0.004, segments: 1 },
    },
    utcAtZeroMs: 1.9e12,
    utcDrift: 0,
    gaps: [],
    endS,
  };
  const jitter = (value: number, sigma: number, from: "calibrated" | "set-up" = "calibrated") => ({
    value: value + sigma * random.normal(),
    plusMinus95: 1.96 * sigma,
    from,
  });
  const calibration: Calibration = {
    rollingRadiusM: jitter(radius, 0.0003),
    gnssDelayS: jitter(delay, sources === "all" ? 0.0015 : 0.003),
    slipPerNm: jitter(ratio / radius / (peakMu * massKg * 9.80665 * 0.57 * 19), 1.5e-5),
    undrivenScales: sources === "all" ? [0, 1].map((k) => ({ ...jitter(1.003 + 0.002 * k, 0.0006), name: `Wheels.Front${k}` })) : [],
    drivenScales: [],
    undrivenThresholdMps: sources === "all" ? 0.5 : 0,
    receiverNoise: { correlatedMps, correlationS: correlatedMps > 0 ? correlationS : 0, whiteMps: Math.hypot(whiteMps, 0.00015) },
    covariance: null,
    usedS: 120,
    notes: [],
  };
  return { recording, calibration, setUp: SET_UP, v, wheel };
}

/** Seconds from the last rise through 0.5 km/h to the first reach of `toMps`, from the true speed. */
export function trueSeconds(v: Float64Array, toMps: number): { start: number; seconds: number } {
  const level = 0.5 / 3.6;
  let gate = v.findIndex((x) => x >= toMps);
  if (gate < 0) return { start: Number.NaN, seconds: Number.NaN };
  const gateS = (gate - (v[gate] - toMps) / (v[gate] - v[gate - 1])) / 1000;
  while (v[gate - 1] >= level) gate--;
  const start = (gate - (v[gate] - level) / (v[gate] - v[gate - 1])) / 1000;
  return { start, seconds: gateS - start };
}
