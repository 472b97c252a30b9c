/**
 * Moves the second car: rotor, twisting shaft, driven wheels, lagged tyre slip, body. Fixed step, half-implicit.
 * A non-finite state throws with the time it happened.
 */
import { createDriver, createLimiter } from "./driver.ts";
import type { Phase, Recipe } from "./recipe.ts";
import { frictionAt, slipRate, wheelNormalised } from "./tyre.ts";

const AIR = 1.2;
const G = 9.80665;
const STEP_S = 0.0005;
const KEEP_EVERY = 2;
/** The inverter takes its command at 100 Hz, whatever the limiter does. */
const COMMAND_EVERY = 20;

/** True motion each millisecond from t = 0. */
export interface Trace {
  readonly stepS: number;
  readonly length: number;
  readonly speedMps: Float64Array;
  readonly placeM: Float64Array;
  /** Driven wheel, rad/s. */
  readonly wheelRadps: Float64Array;
  readonly motorRadps: Float64Array;
  readonly undrivenSlip: Float64Array;
  readonly requestNm: Float64Array;
  readonly commandNm: Float64Array;
  readonly deliveredNm: Float64Array;
  readonly pedalPercent: Float64Array;
  readonly control: Uint8Array;
  /** Where each phase began, s. */
  readonly phases: readonly { readonly phase: Phase; readonly fromS: number; readonly toS: number }[];
}

interface Columns {
  speed: number[];
  place: number[];
  wheel: number[];
  motor: number[];
  undrivenSlip: number[];
  request: number[];
  command: number[];
  delivered: number[];
  pedal: number[];
  control: number[];
}

/** Drives every phase of the recipe in turn. */
export function drive(recipe: Recipe): Trace {
  const { car, phases } = recipe;
  const rearDriven = car.drivenAxle === "rear";
  const driver = createDriver(car);
  const limiter = createLimiter(car, recipe.limiter);
  const lookEvery = Math.round(recipe.limiter.everyS / STEP_S);
  // What the limiter decided and what does not act yet, oldest first.
  let letsThrough = Number.POSITIVE_INFINITY;
  const coming: number[] = new Array(Math.round(recipe.limiter.lateS / STEP_S)).fill(Number.POSITIVE_INFINITY);
  const c: Columns = {
    speed: [],
    place: [],
    wheel: [],
    motor: [],
    undrivenSlip: [],
    request: [],
    command: [],
    delivered: [],
    pedal: [],
    control: [],
  };
  const spans: { phase: Phase; fromS: number; toS: number }[] = [];
  let [v, x, wheel, motor, twist, slip, delivered, command, accel] = [0, 0, 0, 0, 0, 0, 0, 0, 0];
  let step = 0;
  const undrivenShare = rearDriven ? car.frontWeightShare : 1 - car.frontWeightShare;
  const slopeN = car.massKg * G * undrivenShare * 18;
  for (const phase of phases) {
    const fromS = step * STEP_S;
    let d = driver(phase, 0, v, 0);
    for (let inPhase = 0; ; inPhase += 1, step += 1) {
      const t = inPhase * STEP_S;
      // The driver decides each millisecond; one who is done is heard at once.
      if (inPhase % KEEP_EVERY === 0) d = driver(phase, t, v, STEP_S * KEEP_EVERY);
      if (d.done) {
        // Brakes hold the car once it stands: nothing turns, nothing is wound up.
        if (phase.kind === "stop" || Math.abs(v) < 0.05) [v, wheel, motor, twist, slip, accel] = [0, 0, 0, 0, 0, 0];
        break;
      }
      const control = phase.kind === "launch" && phase.control;
      const power = car.maxPowerW / Math.max(1, Math.abs(motor));
      const wanted = Math.max(-power, Math.min(power, d.requestNm));
      if (step % lookEvery === 0) letsThrough = limiter(wanted, v, (motor / car.gearRatio) * car.rollingRadiusM, control);
      coming.push(letsThrough);
      const limit = coming.shift() as number;
      if (step % COMMAND_EVERY === 0) command = Math.min(wanted, limit);
      if (step % KEEP_EVERY === 0) {
        c.speed.push(v);
        c.place.push(x);
        c.wheel.push(wheel);
        c.motor.push(motor);
        c.undrivenSlip.push(d.brakeN > 0 && v > 0 ? d.brakeN / slopeN : 0);
        c.request.push(d.requestNm);
        c.command.push(command);
        c.delivered.push(delivered);
        c.pedal.push(d.pedalPercent);
        c.control.push(control ? 1 : 0);
      }
      delivered += ((command - delivered) * STEP_S) / car.inverterLagS;
      const thrown = (car.massKg * accel * car.cgHeightM) / car.wheelbaseM;
      const load = car.massKg * G * (1 - undrivenShare) + (rearDriven ? thrown : -thrown);
      const shaft = car.shaftNmPerRad * twist + car.shaftNmSPerRad * (motor / car.gearRatio - wheel);
      const slipSpeed = wheel * car.rollingRadiusM - v;
      const settle = Math.abs(slip) < 0.1 ? 1500 * slipSpeed : 0;
      const force = load * frictionAt(car.tyre, wheelNormalised(slip)) + settle / (1 + Math.abs(v));
      motor += ((delivered - Math.sign(motor) * car.motorDragNm - shaft / car.gearRatio) / car.rotorKgM2) * STEP_S;
      wheel += ((shaft - force * car.rollingRadiusM) / car.wheelsKgM2) * STEP_S;
      twist += (motor / car.gearRatio - wheel) * STEP_S;
      slip = Math.max(-1, Math.min(20, slip + slipRate(slip, wheel * car.rollingRadiusM - v, v, car.relaxationM) * STEP_S));
      const resist = d.brakeN + car.massKg * G * car.rollingResistance;
      const push = force + d.pushN - 0.5 * AIR * car.dragAreaM2 * v * Math.abs(v);
      let a = 0;
      if (d.held) a = -v / STEP_S;
      else if (v === 0 && Math.abs(push) <= resist) a = 0;
      else a = (push - Math.sign(v === 0 ? push : v) * resist) / car.massKg;
      const before = v;
      v += a * STEP_S;
      // Friction stops a body; it does not push it the other way.
      if (before !== 0 && Math.sign(v) !== Math.sign(before) && Math.abs(push) <= resist) v = 0;
      accel += ((a - accel) * STEP_S) / 0.05;
      if (d.held) accel = 0;
      x += 0.5 * (before + v) * STEP_S;
      if (phase.kind === "rest") v = wheel = motor = twist = slip = accel = 0;
      if (!Number.isFinite(v + wheel)) throw new RangeError(`Second car: state not finite at ${step * STEP_S} s in ${phase.kind}`);
      if (t > 400) throw new RangeError(`Second car: phase ${phase.kind} did not end in 400 s`);
    }
    spans.push({ phase, fromS, toS: step * STEP_S });
  }
  return {
    stepS: STEP_S * KEEP_EVERY,
    length: c.speed.length,
    speedMps: Float64Array.from(c.speed),
    placeM: Float64Array.from(c.place),
    wheelRadps: Float64Array.from(c.wheel),
    motorRadps: Float64Array.from(c.motor),
    undrivenSlip: Float64Array.from(c.undrivenSlip),
    requestNm: Float64Array.from(c.request),
    commandNm: Float64Array.from(c.command),
    deliveredNm: Float64Array.from(c.delivered),
    pedalPercent: Float64Array.from(c.pedal),
    control: Uint8Array.from(c.control),
    phases: spans,
  };
}

/** A column of the trace at any time, straight between its milliseconds. */
export function at(trace: Trace, column: Float64Array, tS: number): number {
  const place = Math.max(0, Math.min(trace.length - 1.000001, tS / trace.stepS));
  const i = Math.floor(place);
  const next = column[i + 1] ?? column[i];
  return column[i] + (place - i) * (next - column[i]);
}
