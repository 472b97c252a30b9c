/**
 * Full torque and full power of the motor from the launches. Torque: the plateau that was asked for at full pedal and that the motor
 * delivered. Power: where torque falls as one over motor speed. What no launch reached is unknown, and the answer says how far they went.
 */
import { median, quantile } from "../kernel/statistics.ts";
import type { CarFigure } from "./figure.ts";
import type { TuneRun } from "./tune-run.ts";

export interface FullTorque {
  readonly fullTorqueNm: CarFigure;
  readonly fullPowerW: CarFigure;
}

const FULL_PEDAL_PERCENT = 95;
/** A plateau holds for 0.15 s within 1.5 %. */
const PLATEAU_ROWS = 15;
const PLATEAU_SHARE = 0.015;
/**
 * Torque must have fallen to this share before power counts as the limit, over at least this range of motor speed and almost without a
 * break.
 */
const FALLEN = 0.97;
const SPEED_RANGE = 1.15;
const UNBROKEN = 0.8;
/** A run with this much more power than another's limit shows that the other was limited by something else. */
const SAME_LIMIT = 0.98;
/** Least relative half width: the bus gives torque in steps, and battery voltage sags. */
const LEAST_POWER_95 = 0.005;
/** A plateau of torque asked is a number that the bus carries: only its steps blur it. */
const LEAST_TORQUE_95 = 0.001;
/** Less than this share of the torque asked for counts as less than asked. */
const GIVEN_SHARE = 0.95;
/** Full torque was asked for 0.2 s already, so the motor has had time to follow. */
const SETTLED_ROWS = 20;
/** Launches that asked for less than this share of the maximum did not ask for full torque. */
const SAME_TORQUE = 0.98;

/** From all runs that have torque and pedal. */
export function fullTorqueOf(runs: readonly TuneRun[]): FullTorque {
  const shown = runs.filter(({ samples }) => samples.deliveredNm !== null && samples.askedNm !== null);
  if (shown.length === 0) {
    const why = "No run has the torque asked for and the torque delivered";
    return { fullTorqueNm: unknown(why), fullPowerW: unknown(why) };
  }
  const asked = shown.map((run) => plateau(run, "askedNm")).filter((value) => value !== null);
  if (asked.length === 0) {
    const why = `No launch held the pedal over ${FULL_PEDAL_PERCENT} % for ${PLATEAU_ROWS / 100} s`;
    return { fullTorqueNm: unknown(why), fullPowerW: unknown(why) };
  }
  const most = Math.max(...asked);
  const given = shown.map((run) => givenOf(run, most)).filter((value) => value !== null);
  const short = given.length > 0 && median(given) < GIVEN_SHARE * most;
  const fullTorqueNm = short
    ? figure(given, LEAST_POWER_95)
    : figure(
        asked.filter((value) => value > SAME_TORQUE * most),
        LEAST_TORQUE_95,
      );
  return { fullTorqueNm, fullPowerW: powerOf(shown, fullTorqueNm.value ?? 0) };
}

const unknown = (why: string): CarFigure => ({ value: null, plusMinus95: null, from: "fitted", why });

function figure(values: readonly number[], least95: number): CarFigure {
  const value = median(values);
  const scatter = values.length < 2 ? 0 : 1.4826 * median(values.map((one) => Math.abs(one - value)));
  return { value, plusMinus95: Math.max(least95 * value, (1.96 * scatter * 1.25) / Math.sqrt(values.length)), from: "fitted" };
}

/**
 * What the motor delivered while full torque was asked for and the bus shows that no control held it back: a shortfall is then the motor's
 * own. Null where this was never so for the length of a plateau, or where the bus has no signal of a control.
 */
function givenOf(run: TuneRun, mostNm: number): number | null {
  const { askedNm, commandNm, deliveredNm, controlActive } = run.samples;
  if (askedNm === null || deliveredNm === null || (commandNm === null && controlActive === null)) return null;
  const given: number[] = [];
  for (let i = run.startIndex + SETTLED_ROWS; i < run.endIndex; i += 1) {
    const wholly = askedNm[i] > (1 - PLATEAU_SHARE) * mostNm && askedNm[i - SETTLED_ROWS] > (1 - PLATEAU_SHARE) * mostNm;
    const free = controlActive === null ? true : controlActive[i] < 0.5;
    const letThrough = commandNm === null ? true : commandNm[i] > GIVEN_SHARE * mostNm;
    if (wholly && free && letThrough && isFullPedal(run, i)) given.push(deliveredNm[i]);
  }
  return given.length < PLATEAU_ROWS ? null : median(given);
}

/** The greatest value that a column held for a while at full pedal; null where it never did. */
function plateau(run: TuneRun, name: "askedNm" | "deliveredNm"): number | null {
  const column = run.samples[name];
  if (column === null) return null;
  let best: number | null = null;
  for (let i = run.startIndex; i + PLATEAU_ROWS <= run.endIndex; i += 1) {
    let [least, most, sum] = [Infinity, -Infinity, 0];
    for (let k = i; k < i + PLATEAU_ROWS; k += 1) {
      const value = isFullPedal(run, k) ? column[k] : Number.NaN;
      least = Math.min(least, value);
      most = Math.max(most, value);
      sum += value;
    }
    const mean = sum / PLATEAU_ROWS;
    if (most - least <= PLATEAU_SHARE * most && mean > (best ?? 0)) best = mean;
  }
  return best;
}

const isFullPedal = ({ samples }: TuneRun, i: number) => samples.pedalPercent === null || samples.pedalPercent[i] >= FULL_PEDAL_PERCENT;

function powerOf(runs: readonly TuneRun[], fullNm: number): CarFigure {
  const limits: number[] = [];
  let most = 0;
  for (const run of runs) {
    const { limit, mostW } = powerOfRun(run, fullNm);
    most = Math.max(most, mostW);
    if (limit !== null) limits.push(limit);
  }
  if (limits.length > 0)
    return figure(
      limits.filter((limit) => limit > SAME_LIMIT * Math.max(...limits)),
      LEAST_POWER_95,
    );
  return unknown(`No launch came to the motor's power limit: up to ${Math.round(most / 1000)} kW it gave full torque or was held back`);
}

/** The power at which torque falls as one over motor speed. */
function powerOfRun(run: TuneRun, fullNm: number): { limit: number | null; mostW: number } {
  const { askedNm, deliveredNm, motorRadps } = run.samples;
  if (deliveredNm === null || motorRadps === null) return { limit: null, mostW: 0 };
  // A request that itself falls with speed shows the limit better than torque that a control lets through.
  for (const column of askedNm === null ? [deliveredNm] : [askedNm, deliveredNm]) {
    const powers: number[] = [];
    for (let i = run.startIndex; i < run.endIndex; i += 1) {
      if (isFullPedal(run, i) && column[i] < FALLEN * fullNm && column[i] * motorRadps[i] > 0) powers.push(i);
    }
    if (powers.length < PLATEAU_ROWS) continue;
    const top = quantile(
      powers.map((i) => column[i] * motorRadps[i]),
      0.9,
    );
    const near = powers.filter((i) => Math.abs(column[i] * motorRadps[i] - top) < PLATEAU_SHARE * top);
    const speeds = near.map((i) => motorRadps[i]);
    const unbroken = near.length > UNBROKEN * ((near.at(-1) ?? 0) - (near[0] ?? 0));
    if (near.length >= PLATEAU_ROWS && unbroken && Math.max(...speeds) > SPEED_RANGE * Math.min(...speeds)) {
      return { limit: median(near.map((i) => column[i] * motorRadps[i])), mostW: 0 };
    }
  }
  const watts = Array.from(
    { length: run.endIndex - run.startIndex },
    (_, k) => deliveredNm[run.startIndex + k] * motorRadps[run.startIndex + k],
  );
  // A value held from the last frame is too high while the wheels spin up, so not the maximum but a quantile is taken.
  return { limit: null, mostW: quantile(watts, 0.95) || 0 };
}
