/** The second car's driver and its torque limiter: from phase and state to demands. Never looks at a sensor's noise. */
import type { Car, Limiter, Phase } from "./recipe.ts";

export interface Demands {
  readonly requestNm: number;
  readonly pedalPercent: number;
  readonly brakeN: number;
  readonly pushN: number;
  /** The body is held in place (wheels against a wall, or the front brakes). */
  readonly held: boolean;
  readonly done: boolean;
}

const AIR = 1.2;
const G = 9.80665;

/** Demands of one phase at `t` seconds into it, with the car at `v`; `target` is the gentle driver's wanted speed, kept by the caller. */
export function createDriver(car: Car): (phase: Phase, t: number, v: number, dt: number) => Demands {
  let wanted = 0;
  let tLast = 0;
  const make = (requestNm: number, more: Partial<Demands> = {}): Demands => ({
    requestNm,
    pedalPercent: Math.max(0, Math.min(100, (100 * requestNm) / car.maxTorqueNm)),
    brakeN: 0,
    pushN: 0,
    held: false,
    done: false,
    ...more,
  });
  const resistance = (v: number): number => 0.5 * AIR * car.dragAreaM2 * v * v + car.massKg * G * car.rollingResistance;
  const torqueFor = (a: number, v: number): number =>
    ((car.massKg * a + resistance(v)) * car.rollingRadiusM) / car.gearRatio +
    car.motorDragNm +
    (car.rotorKgM2 * a * car.gearRatio) / car.rollingRadiusM;

  /** Follows a wanted acceleration; the loop closes on speed so that the cruise speeds are met. */
  const follow = (a: number, v: number, dt: number): number => {
    wanted += a * dt;
    return Math.max(-0.35, Math.min(0.45, torqueFor(a + 0.8 * (wanted - v), v) / car.maxTorqueNm)) * car.maxTorqueNm;
  };

  const gentle = (phase: Extract<Phase, { kind: "gentle" }>, t: number, v: number, dt: number): Demands => {
    const half = phase.seconds / 2;
    const level = t < half ? phase.lowMps : phase.highMps;
    const gap = level - wanted;
    const reaching = Math.abs(gap) > 3.5;
    // On and off the pedal as the guided drive asks: held, then the other way, with feet that take their time.
    const foot = Math.max(-1, Math.min(1, 1.7 * Math.sin((2 * Math.PI * t) / phase.periodS)));
    const a = reaching ? 1.1 * Math.sign(gap) : phase.swingMps2 * foot + 0.05 * gap;
    return make(follow(a, v, dt), { done: t >= phase.seconds });
  };

  return (phase, t, v, dt) => {
    if (t < tLast || t === 0) wanted = v;
    tLast = t;
    switch (phase.kind) {
      case "rest":
        return make(0, { held: true, done: t >= phase.seconds });
      case "gentle":
        return gentle(phase, t, v, dt);
      case "launch":
        return make(car.maxTorqueNm * Math.min(1, t / phase.rampS), { pedalPercent: 100, done: v >= phase.toMps || t > 40 });
      case "stop":
        return make(v > 2 ? -0.1 * car.maxTorqueNm : 0, { brakeN: car.massKg * phase.decelMps2, done: v <= 0 });
      case "creep":
        return make(t < 4 ? follow(0.4 * (1.5 - wanted), v, dt) : 0, { brakeN: t < 5 ? 0 : 0.15 * car.massKg * G, done: t > 5 && v <= 0 });
      case "push":
        return make(0, { pushN: t < 4 ? 450 : 0, brakeN: t < 6 ? 0 : 0.1 * car.massKg * G, done: t > 6 && v <= 0 });
      case "reverse":
        return make(t < 3 ? -torqueFor(0.6, 0) : 0, { brakeN: t < 5 ? 0 : 0.15 * car.massKg * G, done: t > 5 && v >= 0 });
      case "spin":
        return make(t < 1.5 ? car.maxTorqueNm * Math.min(1, t / 0.2) : 0, { pedalPercent: t < 1.5 ? 100 : 0, held: true, done: t > 4 });
      case "slowAway":
        return make(follow(t < 15 ? 1 : 0, v, dt), { done: t > 18 });
      case "falseStart":
        return make(t < 0.4 ? car.maxTorqueNm * Math.min(1, t / 0.2) : 0, {
          pedalPercent: t < 0.4 ? 100 : 0,
          brakeN: t < 0.5 ? 0 : 0.3 * car.massKg * G,
          done: t > 0.6 && v <= 0,
        });
    }
  };
}

/**
 * Slip limiter, called once a look: cuts in proportion to the excess over an allowed slip speed, gives back slowly. Returns the most torque
 * that it allows.
 */
export function createLimiter(
  car: Car,
  { allowedMps, allowedShare, cutShare, backShare }: Limiter,
): (requestNm: number, v: number, wheelMps: number, on: boolean) => number {
  let cap = car.maxTorqueNm;
  return (requestNm, v, wheelMps, on) => {
    if (!on) {
      cap = car.maxTorqueNm;
      return Number.POSITIVE_INFINITY;
    }
    const excess = wheelMps - v - (allowedMps + allowedShare * Math.max(0, v));
    if (excess > 0) cap = Math.max(0.1 * car.maxTorqueNm, Math.min(cap, requestNm) - cutShare * car.maxTorqueNm * Math.min(1, excess));
    else cap = Math.min(car.maxTorqueNm, cap + backShare * car.maxTorqueNm);
    return cap;
  };
}
