/** What a second-car drive is made of: car, road, drive script, receiver, bus. Random recipes stay inside the ranges written here. */
import type { Random } from "./random.ts";
import { createRandom } from "./random.ts";
import type { TyreCurve } from "./tyre.ts";

export interface Car {
  readonly massKg: number;
  readonly gearRatio: number;
  /** Metres per radian of the driven wheel while no torque acts on it. */
  readonly rollingRadiusM: number;
  readonly wheelbaseM: number;
  readonly cgHeightM: number;
  readonly frontWeightShare: number;
  /** Both driven wheels without the rotor. */
  readonly wheelsKgM2: number;
  readonly rotorKgM2: number;
  readonly shaftNmPerRad: number;
  readonly shaftNmSPerRad: number;
  readonly motorDragNm: number;
  readonly drivenAxle: "rear" | "front";
  readonly dragAreaM2: number;
  readonly rollingResistance: number;
  readonly maxTorqueNm: number;
  readonly maxPowerW: number;
  readonly inverterLagS: number;
  readonly tyre: TyreCurve;
  readonly relaxationM: number;
}

/** The torque limiter's setting: what it allows, when it looks, how late its decisions act. */
export interface Limiter {
  /** Slip speed it allows: this much, and this share of ground speed on top. */
  readonly allowedMps: number;
  readonly allowedShare: number;
  /** Whole multiples of the dynamics' 0.5 ms. */
  readonly everyS: number;
  readonly lateS: number;
  /** Share of full torque taken away at a look for each m/s too many (at most one), and given back at a look. */
  readonly cutShare: number;
  readonly backShare: number;
}

const USUAL_LIMITER: Limiter = {
  allowedMps: 0.5,
  allowedShare: 0.06,
  everyS: 0.01,
  lateS: 0,
  cutShare: 0.06,
  backShare: 0.012,
};

export type Phase =
  | { readonly kind: "rest"; readonly seconds: number }
  | {
      readonly kind: "gentle";
      readonly seconds: number;
      readonly lowMps: number;
      readonly highMps: number;
      readonly swingMps2: number;
      readonly periodS: number;
    }
  | { readonly kind: "launch"; readonly rampS: number; readonly toMps: number; readonly control: boolean }
  | { readonly kind: "stop"; readonly decelMps2: number }
  | { readonly kind: "creep" | "push" | "reverse" | "spin" | "slowAway" | "falseStart" };

interface Receiver {
  readonly rateHz: number;
  /** First-order lag of the reported speed, s; its group delay counts towards the delay. */
  readonly lagS: number;
  /** Pure delay of the reported speed behind its own time stamp, s. */
  readonly ageS: number;
  /** From the epoch's UTC to its first byte, least case, s. */
  readonly transportS: number;
  readonly jitterMeanS: number;
  readonly burstChance: number;
  readonly whiteMps: number;
  readonly correlatedMps: number;
  readonly correlationS: number;
  /** Reported 0 until the raw speed passes this, m/s; 0: the length of the noisy vector is reported. */
  readonly holdBelowMps: number;
  /** Knots per step in the printed speed. */
  readonly stepKnots: number;
  readonly missingChance: number;
  readonly clockPpm: number;
}

export interface Bus {
  readonly rateHz: number;
  readonly undriven: boolean;
  readonly driven: boolean;
  readonly motorSpeed: boolean;
  readonly torque: boolean;
  readonly wheelStepKmh: number;
  readonly wheelNoiseMps: number;
  readonly undrivenScale: readonly [number, number];
  readonly drivenScale: readonly [number, number];
  readonly undrivenThresholdMps: number;
  readonly stamps: boolean;
  readonly adapterPpm: number;
  /** 16: a USB latency timer; 0: each frame at once. */
  readonly latencyTimerMs: number;
  readonly leastLatencyS: number;
  readonly lossChance: number;
}

export interface Recipe {
  readonly seed: number;
  readonly car: Car;
  readonly limiter: Limiter;
  readonly phases: readonly Phase[];
  readonly receiver: Receiver;
  readonly bus: Bus;
  /** Spans in which the host reads nothing, s. */
  readonly stalls: readonly (readonly [number, number])[];
}

/** What a class of drives fixes; everything else is drawn. */
export interface DriveClass {
  /** Rear unless said. */
  readonly drivenAxle?: "rear" | "front";
  readonly surface?: "dry" | "wet";
  readonly control?: boolean;
  readonly limiter?: Partial<Limiter>;
  readonly rampS?: number;
  readonly rateHz?: number;
  readonly noiseMps?: number;
  readonly correlated?: boolean;
  readonly hold?: boolean;
  readonly undriven?: boolean;
  readonly motorSpeed?: boolean;
  readonly torque?: boolean;
  readonly pureDelay?: boolean;
  /** Launches of the design's stated family only: enough grip, stiff shafts and tyres, no limiter, a pure delay. */
  readonly family?: boolean;
  readonly stamps?: boolean;
  readonly calibrationS?: number;
  readonly launches?: number;
  readonly toMps?: number;
  readonly phases?: readonly Phase[];
}

function drawCar(random: Random, wet: boolean, drivenAxle: Car["drivenAxle"]): Car {
  const grip = wet ? random.between(0.55, 0.7) : random.between(0.9, 1.05);
  return {
    massKg: random.between(1250, 1750),
    gearRatio: random.between(8, 10.5),
    rollingRadiusM: random.between(0.3, 0.345),
    wheelbaseM: random.between(2.4, 2.8),
    cgHeightM: random.between(0.45, 0.6),
    frontWeightShare: random.between(0.45, 0.52),
    wheelsKgM2: random.between(1.8, 2.6),
    rotorKgM2: random.between(0.03, 0.06),
    shaftNmPerRad: random.between(7000, 14000),
    shaftNmSPerRad: random.between(60, 140),
    motorDragNm: random.between(0.1, 0.5),
    drivenAxle,
    dragAreaM2: random.between(0.5, 0.75),
    rollingResistance: random.between(0.009, 0.014),
    maxTorqueNm: random.between(250, 350),
    maxPowerW: random.between(130e3, 220e3),
    inverterLagS: random.between(0.008, 0.025),
    // The initial slope c1 c2 - c3 spans road tyres from soft to stiff; 23.99 is Burckhardt's dry asphalt.
    tyre: { c1: 1.2801 * grip, c2: random.between(14, 26), c3: 0.52 * grip },
    relaxationM: random.between(0.2, 0.45),
  };
}

/** A car whose launches are a ramp, a torque limit, a power limit and drag: what the Cramer-Rao bound takes as true. */
function keepToFamily(car: Car, random: Random): Car {
  const limitMps2 = random.between(3.5, 4.5);
  return {
    ...car,
    maxTorqueNm: (limitMps2 * car.massKg * car.rollingRadiusM) / car.gearRatio,
    maxPowerW: limitMps2 * car.massKg * random.between(17, 24),
    shaftNmPerRad: 60e3,
    shaftNmSPerRad: 300,
    inverterLagS: 0.002,
    tyre: { c1: 40, c2: 1.2, c3: 0 },
    cgHeightM: 0.01,
    relaxationM: 0.05,
  };
}

function drawReceiver(random: Random, kind: DriveClass): Receiver {
  const noise = kind.noiseMps ?? 0.03;
  const correlated = kind.correlated ?? random.chance(0.5);
  const delayS = random.between(0.02, 0.2);
  const inside = random.between(0.2, 0.5) * delayS;
  const pure = kind.pureDelay ?? (kind.family ? true : random.chance(0.5));
  return {
    rateHz: kind.rateHz ?? 10,
    lagS: pure ? 0 : Math.min(inside, 0.06),
    ageS: pure ? inside : Math.max(0, inside - 0.06),
    transportS: delayS - inside,
    jitterMeanS: random.between(0.0005, 0.004),
    burstChance: random.between(0, 0.08),
    whiteMps: correlated ? noise * Math.SQRT1_2 : noise,
    correlatedMps: correlated ? noise * Math.SQRT1_2 : 0,
    correlationS: correlated ? random.between(0.3, 1.5) : 0,
    holdBelowMps: (kind.hold ?? random.chance(0.3)) ? random.between(0.1, 0.3) : 0,
    stepKnots: random.pick([0.001, 0.01]),
    missingChance: random.pick([0, 0, 0.003]),
    clockPpm: random.between(-25, 25),
  };
}

function drawBus(random: Random, kind: DriveClass): Bus {
  const scale = (): number => random.between(0.985, 1.015);
  return {
    rateHz: 100,
    undriven: kind.undriven ?? true,
    driven: random.chance(0.5),
    motorSpeed: kind.motorSpeed ?? true,
    torque: kind.torque ?? true,
    wheelStepKmh: random.pick([0.01, 0.0625]),
    wheelNoiseMps: random.between(0.004, 0.015),
    undrivenScale: [scale(), scale()],
    drivenScale: [scale(), scale()],
    undrivenThresholdMps: random.pick([0, 0.3, 0.75]),
    stamps: kind.stamps ?? true,
    adapterPpm: random.between(-200, 200),
    latencyTimerMs: random.pick([0, 1, 16]),
    leastLatencyS: random.between(0.0001, 0.0004),
    lossChance: random.pick([0, 0, 0.001]),
  };
}

/** A random recipe of the class: standing, a gentle calibration drive (120 s unless told), then launches each from rest. */
export function drawRecipe(seed: number, kind: DriveClass = {}): Recipe {
  const random = createRandom(seed);
  const wet = (kind.surface ?? (random.chance(0.3) ? "wet" : "dry")) === "wet";
  const drawn = drawCar(random, wet, kind.drivenAxle ?? "rear");
  const receiver = drawReceiver(random, kind);
  const bus = drawBus(random, kind);
  const car = kind.family ? keepToFamily(drawn, random) : drawn;
  const phases: Phase[] = [{ kind: "rest", seconds: 6 + random.next() }];
  const calibrationS = kind.calibrationS ?? 120;
  if (calibrationS > 0) {
    const lowMps = random.between(9, 12);
    phases.push({
      kind: "gentle",
      seconds: calibrationS,
      lowMps,
      highMps: lowMps + random.between(12, 16),
      swingMps2: random.between(0.8, 1.3),
      periodS: random.between(5, 8),
    });
    phases.push({ kind: "stop", decelMps2: random.between(1.5, 3) }, { kind: "rest", seconds: 5 + random.next() });
  }
  for (let i = 0; i < (kind.launches ?? 1); i += 1) {
    const control = kind.control ?? (kind.family ? false : random.chance(0.5));
    phases.push({ kind: "launch", rampS: kind.rampS ?? random.between(0.1, 0.6), toMps: kind.toMps ?? 28.5, control });
    phases.push({ kind: "stop", decelMps2: random.between(3, 5) }, { kind: "rest", seconds: 5 + random.next() });
  }
  phases.push(...(kind.phases ?? []));
  const stalls: [number, number][] = [];
  if (calibrationS > 60 && random.chance(0.3)) {
    const from = random.between(15, 100);
    stalls.push([from, from + random.between(0.2, 2)]);
  }
  return { seed, car, limiter: { ...USUAL_LIMITER, ...kind.limiter }, phases, receiver, bus, stalls };
}
