/**
 * Drives the fitted car again: a simulation of one launch, body and driven axle stepped every half millisecond, with the control in the
 * loop. A speed or place not reached in time gives null. Never throws: a car with missing figures is refused before it comes here.
 */
import { type Gate, gateEnds } from "../launch/gate.ts";
import { MOVEMENT_MPS } from "../launch/gate-times.ts";
import { look } from "./control-look.ts";
import { aimAt, type ControlModel } from "./control-model.ts";
import { frictionAt, type GripFormula } from "./grip-curve.ts";
import { ROW_S } from "./tune-samples.ts";

/** Plain numbers of one car, SI. */
export interface DrivenCar {
  readonly massKg: number;
  /** Force at the tyres in N for each Nm at the motor, and motor speed for each m/s of the driven wheel. */
  readonly newtonPerNm: number;
  readonly radpsPerMps: number;
  readonly dragNPerMps2: number;
  readonly rollingN: number;
  /** Inertia of the driven axle with the rotor, as a mass at the tyre. */
  readonly axleKg: number;
  readonly fullTorqueNm: number;
  readonly fullPowerW: number;
  readonly staticN: number;
  readonly perMps2: number;
}

export interface Launch {
  readonly car: DrivenCar;
  readonly grip: GripFormula;
  /** Share of full torque that is asked for, a row each 10 ms; the last value holds. */
  readonly askedShare: ArrayLike<number>;
  /** How delivered torque follows its command: first-order lag, s, and the share of it that is delivered. */
  readonly motorLagS: number;
  readonly deliveredShare: number;
  /** Null: torque is delivered as asked. */
  readonly control: ControlModel | null;
}

/** The simulated launch, a row each 10 ms. */
export interface DrivenLaunch {
  readonly seconds: number | null;
  readonly speedMps: Float64Array;
  readonly slipMps: Float64Array;
  readonly throughNm: Float64Array;
}

const STEP_S = 0.0005;
const STEPS_A_ROW = Math.round(ROW_S / STEP_S);
const MOST_S = 40;
/** A tyre needs some distance to build up its force, so near standstill slip is divided by this speed. This also keeps the steps stable. */
const LEAST_SLIP_BASE_MPS = 2.5;
/** The load follows the acceleration as the body pitches (common practice, no source). */
const PITCH_LAG_S = 0.05;

/** Drives until the gate's end, or 40 s. */
export function driveAgain({ car, grip, askedShare, motorLagS, deliveredShare, control }: Launch, gate: Gate): DrivenLaunch {
  const timer = gateTimer(gate);
  const rows = Math.round(MOST_S / ROW_S);
  const [speedMps, slipMps, throughNm] = [new Float64Array(rows), new Float64Array(rows), new Float64Array(rows)];
  const keep = motorLagS > 0 ? Math.exp(-STEP_S / motorLagS) : 0;
  const lateSteps = control === null ? 0 : Math.round(control.lateS / STEP_S);
  // Limits that are decided but do not act yet.
  const coming = new Float64Array(lateSteps + 1).fill(Number.POSITIVE_INFINITY);
  const everySteps = control === null ? 1 : Math.max(1, Math.round(control.everyS / STEP_S));
  const state = { sumNm: 0, cutting: false };
  let [v, wheel, distance, accel, delivered] = [0, 0, 0, 0, 0];
  for (let step = 0; step < rows * STEPS_A_ROW; step += 1) {
    const row = Math.floor(step / STEPS_A_ROW);
    const full = Math.min(car.fullTorqueNm, car.fullPowerW / Math.max(1, wheel * car.radpsPerMps));
    const asked = Math.max(0, shareAt(askedShare, step / STEPS_A_ROW)) * full;
    let through = asked;
    if (control !== null) {
      if (step % everySteps === 0) {
        const excess = wheel - v - aimAt(control.aim, v);
        coming[step % coming.length] = look(control, state, excess, asked, everySteps * STEP_S);
      } else coming[step % coming.length] = coming[(step - 1 + coming.length) % coming.length];
      through = Math.min(asked, coming[(step + 1) % coming.length]);
    }
    delivered = through + (delivered - through) * keep;
    const load = Math.max(0, car.staticN + car.perMps2 * accel);
    const slip = wheel - v;
    const force = load * frictionAt(grip, slip / Math.max(v, LEAST_SLIP_BASE_MPS));
    wheel = Math.max(0, wheel + ((car.newtonPerNm * deliveredShare * delivered - force) / car.axleKg) * STEP_S);
    const push = force - car.dragNPerMps2 * v * v - car.rollingN;
    const next = Math.max(0, v + (push / car.massKg) * STEP_S);
    const a = (next - v) / STEP_S;
    accel += ((a - accel) * STEP_S) / PITCH_LAG_S;
    distance += 0.5 * (v + next) * STEP_S;
    v = next;
    if (step % STEPS_A_ROW === 0) {
      speedMps[row] = v;
      slipMps[row] = wheel - v;
      throughNm[row] = through;
    }
    const seconds = timer((step + 1) * STEP_S, v, distance);
    if (seconds !== null) return cut(seconds, row + 1);
  }
  return cut(null, rows);

  function cut(seconds: number | null, to: number): DrivenLaunch {
    return { seconds, speedMps: speedMps.slice(0, to), slipMps: slipMps.slice(0, to), throughNm: throughNm.slice(0, to) };
  }
}

function shareAt(shares: ArrayLike<number>, place: number): number {
  const last = shares.length - 1;
  if (place >= last) return last < 0 ? 0 : (shares[last] as number);
  const i = Math.floor(place);
  return (shares[i] as number) + (place - i) * ((shares[i + 1] as number) - (shares[i] as number));
}

/** Called after each step; gives the seconds from the gate's usual start once its end is passed. Stops are not simulated: always null. */
function gateTimer(gate: Gate): (tS: number, speedMps: number, distanceM: number) => number | null {
  const { fromMps, to } = gateEnds(gate);
  const enter = fromMps ?? MOVEMENT_MPS;
  let before = { tS: 0, v: 0, x: 0 };
  let start: { tS: number; x: number } | null = null;
  return (tS, v, x) => {
    const since = before;
    before = { tS, v, x };
    const share = (level: number, a: number, b: number) => (level - a) / (b - a);
    if (start === null && since.v < enter && v >= enter) {
      const at = share(enter, since.v, v);
      start = { tS: since.tS + at * (tS - since.tS), x: since.x + at * (x - since.x) };
    }
    if (start === null || to.what === "standing") return null;
    if (to.what === "speed") return v < to.mps ? null : since.tS + share(to.mps, since.v, v) * (tS - since.tS) - start.tS;
    const end = start.x + to.m;
    return x < end ? null : since.tS + share(end, since.x, x) * (tS - since.tS) - start.tS;
  };
}
