/**
 * One car, tyre and control drawn from those that the runs allow: the interval of a simulation comes from many of these. Pure; the caller
 * gives the seed.
 */
import { AIR_KGPM3 } from "../align/force-balance.ts";
import type { SeededRandom } from "../judge/seeded-random.ts";
import { TWO_SIDED_95 } from "../kernel/statistics.ts";
import { STANDARD_GRAVITY_MPS2 } from "../kernel/units.ts";
import type { ControlModel } from "./control-model.ts";
import type { DrivenCar } from "./drive-again.ts";
import type { Figure } from "./figure.ts";
import type { ControlFit } from "./fit-control.ts";
import type { FittedCar } from "./fitted-car.ts";

/** The car as fitted, or with each figure changed at random within its interval. Null where full torque is unknown. */
export function drivenCar(car: FittedCar, random: SeededRandom | null): DrivenCar | null {
  const { fullTorqueNm, fullPowerW } = car;
  if (fullTorqueNm.value === null) return null;
  const some = ({ value, plusMinus95 }: Figure) =>
    random === null ? value : Math.max(0.2 * value, value + (plusMinus95 / TWO_SIDED_95) * random.normal());
  const massKg = car.massKg.value;
  // Forces were measured with this mass. An error of the mass gives the same relative error in friction and torque, so the launch stays the
  // same.
  return {
    massKg,
    newtonPerNm: car.newtonPerNm.value,
    radpsPerMps: car.gearRatio / car.rollingRadiusM.value,
    dragNPerMps2: 0.5 * AIR_KGPM3 * some(car.dragAreaM2),
    rollingN: some(car.rollingResistance) * massKg * STANDARD_GRAVITY_MPS2,
    axleKg: some(car.axleInertiaKgM2) / car.rollingRadiusM.value ** 2,
    fullTorqueNm: fullTorqueNm.value,
    fullPowerW: fullPowerW.value ?? Number.POSITIVE_INFINITY,
    staticN: car.load.staticN,
    perMps2: car.load.perMps2,
  };
}

/** Frame ages and clocks leave the lateness uncertain by this much, s (one standard deviation). */
const LATE_SIGMA_S = 0.003;
/** A rate that no row shows is known only within a factor of two (one standard deviation of its logarithm). */
const MOST_OPEN = 0.7;
const KEYS = ["nmPerMps", "nmPerM", "awayNmPerS", "backNmPerS"] as const;

/**
 * The control as fitted, changed at random as much as leaving out one run changes it (jackknife: Efron and Tibshirani 1993, chapter 11).
 */
export function drawnControl({ model, without, open }: ControlFit, random: SeededRandom): ControlModel {
  const n = without.length;
  const pulls = without.map(() => random.normal() * Math.sqrt((n - 1) / Math.max(1, n)));
  const moved = (pick: (one: ControlModel) => number) => {
    if (n < 2) return pick(model);
    const mean = without.reduce((sum, one) => sum + pick(one), 0) / n;
    return pick(model) + without.reduce((sum, one, i) => sum + (pulls[i] as number) * (pick(one) - mean), 0);
  };
  const scaled = (pick: (one: ControlModel) => number) => Math.exp(moved((one) => Math.log(pick(one))));
  const rate = (key: (typeof KEYS)[number], k: number) =>
    scaled((one) => one[key]) * Math.exp(Math.min(MOST_OPEN, open[k] as number) * random.normal());
  const [nmPerMps, nmPerM, awayNmPerS, backNmPerS] = KEYS.map(rate) as [number, number, number, number];
  return {
    ...model,
    nmPerMps,
    nmPerM,
    awayNmPerS,
    backNmPerS,
    aim: { ...model.aim, standingMps: scaled(({ aim }) => aim.standingMps), share: scaled(({ aim }) => aim.share) },
    lateS: Math.max(0, moved(({ lateS }) => lateS) + LATE_SIGMA_S * random.normal()),
  };
}
