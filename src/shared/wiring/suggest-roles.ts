/**
 * Ranks every signal for each role by its unit, its range and its behaviour compared with ground speed. Names do not count. Scores run from
 * 0 to 1. A signal without a unit of the role, or that did not move as it must, is left out.
 */
import type { ListRole, SingleRole } from "../setup/roles.ts";
import { accelerationOf, type CarFacts, HOLD, torqueScale, whereGentle } from "../signals/check-role.ts";
import type { DbcSignal } from "../dbc/dbc-model.ts";
import { conversionOf } from "../signals/signal-units.ts";
import { correlate, holdFilled, meanWhere, medianOfEnough } from "../signals/trace-statistics.ts";
import { saidSpeed } from "../kernel/shown-units.ts";

export const SUGGESTED_ROLES = [
  "motorSpeed",
  "torqueRequest",
  "torqueDelivered",
  "pedal",
  "stateOfCharge",
  "drivenWheelSpeeds",
  "undrivenWheelSpeeds",
  "tractionControlActive",
] as const;
type SuggestedRole = (typeof SUGGESTED_ROLES)[number] & (SingleRole | ListRole);

/** What a suggestion needs to know of a signal; SurveyedSignal has it. */
export interface SignalTrace {
  readonly decoder: { readonly name: string; readonly signal: Pick<DbcSignal, "unit" | "bitLength" | "factor"> };
  readonly trace: ArrayLike<number>;
}

export interface RoleSuggestion {
  readonly signal: string;
  /** True where the signal has the opposite sign. */
  readonly invert: boolean;
  readonly score: number;
  readonly why: string;
}

const SHOWN = 5;
const LEAST_SCORE = 0.05;

interface Candidate {
  readonly name: string;
  readonly unit: string;
  readonly bitLength: number;
  /** In the SI unit. */
  readonly values: Float64Array;
  readonly min: number;
  readonly max: number;
}

interface Drive {
  readonly speed: Float64Array;
  readonly acceleration: Float64Array;
  readonly car: CarFacts;
}

/** The best few signals for each role, best first. All traces use the grid of `groundSpeedMps` (SURVEY_STEP_S). */
export function suggestRoles(
  signals: readonly SignalTrace[],
  groundSpeedMps: ArrayLike<number>,
  car: CarFacts,
): Record<SuggestedRole, RoleSuggestion[]> {
  const drive: Drive = { speed: holdFilled(groundSpeedMps, HOLD), acceleration: accelerationOf(groundSpeedMps), car };
  const candidates = signals.map(toCandidate).filter((candidate) => candidate.max >= candidate.min);
  const torques = candidates
    .filter(({ unit }) => unit === "Nm")
    .map((one) => rankTorque(one, drive))
    .filter(({ score }) => score > LEAST_SCORE);
  const motors = ranked(
    candidates.filter(({ unit }) => unit === "rad/s").map((one) => rankSpeed(one, drive, car.rollingRadiusM / car.gearRatio)),
  );
  const wheels = candidates.filter(({ unit }) => unit === "m/s" || unit === "rad/s");
  const spin = spinOf(motors[0], candidates, drive);
  const motor = candidates.find(({ name }) => name === motors[0]?.signal);
  const wheelSpeeds = wheels.map((one) => rankSpeed(one, drive, one.unit === "m/s" ? 1 : car.rollingRadiusM));
  return {
    motorSpeed: motors,
    torqueRequest: ranked(torques.map((one) => withLead(one, torques, 1))),
    torqueDelivered: ranked(torques.map((one) => withLead(one, torques, -1))),
    pedal: ranked(candidates.filter(({ unit }) => unit === "%").map((one) => rankPedal(one, drive))),
    stateOfCharge: ranked(candidates.filter(({ unit }) => unit === "%").map((one) => rankCharge(one))),
    drivenWheelSpeeds: ranked(wheelSpeeds.map((one, i) => withSlip(one, wheels[i], drive, motor, 1))),
    undrivenWheelSpeeds: ranked(wheelSpeeds.map((one, i) => withSlip(one, wheels[i], drive, motor, -1))),
    tractionControlActive: ranked(
      candidates.filter(({ unit, bitLength }) => unit === "" && bitLength <= 4).map((one) => rankActive(one, spin)),
    ),
  };
}

function toCandidate({ decoder, trace }: SignalTrace): Candidate {
  const conversion = conversionOf(decoder.signal.unit);
  const values = holdFilled(trace, HOLD).map((value) => (conversion === null ? value : value * conversion.scale + conversion.offset));
  let min = Infinity;
  let max = -Infinity;
  for (const value of values) {
    if (value < min) min = value;
    if (value > max) max = value;
  }
  const unit = conversion?.unit ?? (decoder.signal.unit.trim() === "" ? "" : "unknown");
  return { name: decoder.name, unit, bitLength: decoder.signal.bitLength, values, min, max };
}

function ranked(suggestions: readonly RoleSuggestion[]): RoleSuggestion[] {
  return suggestions
    .filter(({ score }) => score > LEAST_SCORE)
    .sort((a, b) => b.score - a.score)
    .slice(0, SHOWN);
}

function suggestion(candidate: Candidate, score: number, invert: boolean, why: string): RoleSuggestion {
  return { signal: candidate.name, invert, score: Number.isFinite(score) ? Math.max(0, Math.min(1, score)) : 0, why };
}

/** How close a ratio is to 1, in either direction: 1 at 1, about 0.6 at `width`. */
function closeToOne(ratio: number, width: number): number {
  return ratio > 0 ? Math.exp(-0.5 * (Math.log(ratio) / width) ** 2) : 0;
}

function rankSpeed(one: Candidate, { speed, acceleration }: Drive, scale: number): RoleSuggestion {
  const { r } = correlate(whereGentle(one.values, acceleration), speed);
  const sign = r < 0 ? -1 : 1;
  const ratio = medianOfEnough(speed.map((v, i) => (v > 5 ? (sign * one.values[i] * scale) / v : Number.NaN)));
  // Spread of the ratio where the car neither accelerates nor brakes hard. A copy of the signal with coarse steps or a lag scores less
  // here.
  const spread = medianOfEnough(
    speed.map((v, i) => (v > 5 && Math.abs(acceleration[i]) < 2 ? Math.abs((sign * one.values[i] * scale) / v / ratio - 1) : Number.NaN)),
  );
  const follows = Math.max(0, (Math.abs(r) - 0.8) / 0.2);
  const score = follows * closeToOne(ratio, 0.03) * Math.exp(-10 * (Number.isNaN(spread) ? 0 : spread));
  return suggestion(one, score, sign < 0, `${ratio.toFixed(3)} times ground speed, correlation ${r.toFixed(3)}`);
}

/**
 * Driven wheels follow the motor when the car accelerates; undriven ones fall behind it by the slip. They are compared with the motor, not
 * with the receiver, whose delay alone would look like a few per cent of slip.
 */
function withSlip(
  base: RoleSuggestion,
  one: Candidate,
  { speed, acceleration }: Drive,
  motor: Candidate | undefined,
  side: 1 | -1,
): RoleSuggestion {
  if (motor === undefined || base.score <= LEAST_SCORE) return base;
  const ratios = one.values.map((value, i) => (speed[i] > 3 && motor.values[i] !== 0 ? Math.abs(value / motor.values[i]) : Number.NaN));
  const even = medianOfEnough(
    ratios.map((ratio, i) => (Math.abs(acceleration[i]) < 1 ? ratio : Number.NaN)),
    10,
  );
  const behind = 1 - meanWhere(ratios, (i) => acceleration[i] > 2) / even;
  const driven = Number.isNaN(behind) ? 0.5 : 1 / (1 + Math.exp((behind - 0.01) / 0.003));
  const score = base.score * (0.3 + 0.7 * (side > 0 ? driven : 1 - driven));
  const told = Number.isNaN(behind)
    ? "; driven or not shows when accelerating hard"
    : `, ${(100 * behind).toFixed(1)} % behind the motor when accelerating`;
  return { ...base, score, why: `${base.why}${told}` };
}

interface RankedTorque extends RoleSuggestion {
  readonly values: Float64Array;
}

function rankTorque(one: Candidate, { acceleration, car }: Drive): RankedTorque {
  const { r } = correlate(one.values, acceleration);
  const scale = torqueScale(one.values, acceleration, car);
  const score = Math.max(0, (Math.abs(r) - 0.3) / 0.7) * closeToOne(Math.abs(scale), 0.4);
  return {
    ...suggestion(
      one,
      score,
      r < 0,
      `correlation with acceleration ${r.toFixed(2)}, ${Math.abs(scale).toPrecision(2)} times what the mass needs`,
    ),
    values: one.values,
  };
}

/**
 * Requested torque changes before delivered torque and is never less. So a torque that leads scores higher as the request, one that lags as
 * the delivered torque.
 */
function withLead(one: RankedTorque, all: readonly RankedTorque[], side: 1 | -1): RoleSuggestion {
  let lead = 0;
  for (const other of all) {
    if (other === one || other.score < one.score / 3) continue;
    const sign = one.invert === other.invert ? 1 : -1;
    const ahead = sign * (correlate(one.values, other.values, 1).r - correlate(one.values, other.values, -1).r);
    if (Math.abs(correlate(one.values, other.values).r) > 0.6) lead += Math.tanh(ahead / 0.01);
  }
  const place = 1 / (1 + Math.exp(-2 * side * lead));
  const { signal, invert, score, why } = one;
  return {
    signal,
    invert,
    score: Math.sqrt(score) * (0.3 + 0.7 * place),
    why: `${why}; ${lead > 0 ? "leads" : lead < 0 ? "follows" : "beside"} the other torques`,
  };
}

function rankPedal(one: Candidate, { acceleration }: Drive): RoleSuggestion {
  const { r } = correlate(one.values, acceleration);
  const inRange = one.min > -1 && one.max < 105 && one.max - one.min > 10;
  const released = one.values.filter((value) => value < 2).length / one.values.length;
  return suggestion(
    one,
    inRange ? Math.max(0, (r - 0.2) / 0.8) * (released > 0.02 ? 1 : 0.5) : 0,
    false,
    `0 to ${one.max.toFixed(0)} %, correlation with acceleration ${r.toFixed(2)}`,
  );
}

/** Charge falls slowly and steadily and lies between 0 and 100 %. */
function rankCharge(one: Candidate): RoleSuggestion {
  const time = one.values.map((_, i) => i);
  const { r } = correlate(time, one.values);
  const range = one.max - one.min;
  const plausible = one.min > 1 && one.max <= 101 && range < 15;
  let largestStep = 0;
  for (let i = 1; i < one.values.length; i++) largestStep = Math.max(largestStep, Math.abs(one.values[i] - one.values[i - 1]) || 0);
  const steady = range === 0 ? 0.15 : Math.max(0, -r) * (largestStep <= Math.max(1, 0.3 * range) ? 1 : 0.3);
  return suggestion(
    one,
    plausible ? steady : 0,
    false,
    `${one.min.toFixed(1)} to ${one.max.toFixed(1)} %, correlation with time ${r.toFixed(2)}`,
  );
}

/** Speed of the driven wheels on the road, from the likeliest motor speed; null without one. */
function spinOf(motor: RoleSuggestion | undefined, candidates: readonly Candidate[], { speed, car }: Drive): Float64Array | null {
  const found = candidates.find(({ name }) => name === motor?.signal);
  if (found === undefined || motor === undefined) return null;
  const scale = ((motor.invert ? -1 : 1) * car.rollingRadiusM) / car.gearRatio;
  return found.values.map((value, i) => value * scale - speed[i]);
}

/** A flag that is set for a small share of the time, while the driven wheels turn faster than ground speed. */
function rankActive(one: Candidate, spin: Float64Array | null): RoleSuggestion {
  const up = (i: number) => one.values[i] > one.min;
  const share = meanWhere(
    one.values.map((value) => (value > one.min ? 1 : 0)),
    () => true,
  );
  if (spin === null || one.max === one.min || share > 0.5) return suggestion(one, 0, false, "never changes with the wheels");
  const during = meanWhere(spin, up);
  const otherwise = meanWhere(spin, (i) => !up(i));
  const flags = one.values.map((value) => (value > one.min ? 1 : 0));
  const { r } = correlate(flags, spin);
  return suggestion(
    one,
    Math.max(0, r),
    false,
    `up ${(100 * share).toFixed(1)} % of the time, wheels ${saidSpeed(during - otherwise, 1)} further ahead then`,
  );
}
