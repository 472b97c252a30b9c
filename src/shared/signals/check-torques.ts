/**
 * Tells torque asked from torque delivered by what they do: a control only ever takes torque away, and the motor follows what is asked. Both
 * traces on one grid, driving positive. Too little torque is said to be too little.
 */
import { median, quantile } from "../kernel/statistics.ts";
import type { RoleCheck } from "./check-role.ts";

/** As shares of the greatest torque: what counts as torque at all, and what as a difference (estimates are off by a few per cent, and a foot that moves fast shows the lag). */
const LEAST_SHARE = 0.1;
const DIFFERS_SHARE = 0.1;
/** Seconds of difference that are no mere following; and how one-sided they must be. */
const LEAST_CUT_S = 0.5;
const ONE_SIDED = 3;
/** Asked torque is about what is delivered, most of the time; a wrong factor is further off. */
const SCALE_TOLERANCE = 1.5;
/** Without any cut, by how much one must lead; a bus period of 10 ms, halved. */
const LEAST_LEAD_S = 0.003;
const LEAST_SIGMAS = 6;
/** Fastest change that a foot makes; faster ones are cuts, whose shape says nothing about following. */
const LEAST_PAIRS = 200;

const SWAPPED = "swap the two signals, or choose others";

/** `stepS` of the grid; NaN where unknown. */
export function checkTorques(asked: Float64Array, delivered: Float64Array, stepS: number): RoleCheck {
  const tops = Float64Array.from(asked, (nm, i) => Math.max(nm, delivered[i])).filter(Number.isFinite);
  if (tops.length < LEAST_PAIRS) return { verdict: "cannot tell yet", why: "needs driving with both torques" };
  const fullNm = quantile(tops, 0.999);
  const [least, differs] = [LEAST_SHARE * fullNm, DIFFERS_SHARE * fullNm];
  let [aboveS, belowS] = [0, 0];
  const over: number[] = [];
  for (let i = 0; i < asked.length; i++) {
    if (!(asked[i] > least && delivered[i] > least)) continue;
    const cutNm = asked[i] - delivered[i];
    if (cutNm > differs) belowS += stepS;
    else if (cutNm < -differs) {
      aboveS += stepS;
      over.push(-cutNm);
    }
  }
  if (aboveS >= LEAST_CUT_S && aboveS > ONE_SIDED * belowS)
    return {
      verdict: "refused",
      why: `the delivered torque stands above the asked one for ${aboveS.toFixed(1)} s (by ${median(over).toFixed(0)} Nm), below it for ${belowS.toFixed(1)} s: ${SWAPPED}`,
      reason: "swapped",
    };
  if (belowS >= LEAST_CUT_S && belowS > ONE_SIDED * aboveS)
    return { verdict: "fits", why: `torque is held back for ${belowS.toFixed(1)} s` };
  return byLead(asked, delivered, differs, stepS);
}

/** How many times the delivered torque the asked one is, by the median of where both are driving; NaN where that is too short. */
export function askedScale(asked: Float64Array, delivered: Float64Array): number {
  const [least, leastDelivered] = [asked, delivered].map((nm) => (LEAST_SHARE / 2) * quantile(nm, 0.999));
  const ratios = asked.map((nm, i) =>
    nm > (least as number) && delivered[i] > (leastDelivered as number) ? nm / delivered[i] : Number.NaN,
  );
  const told = ratios.filter(Number.isFinite);
  return told.length < LEAST_PAIRS ? Number.NaN : median(told);
}

/** Null where the two are of one scale, or too little is known. */
export function scaleWords(scale: number): string | null {
  if (!(scale > SCALE_TOLERANCE || scale < 1 / SCALE_TOLERANCE)) return null;
  return `it is ${scale.toPrecision(2)} times the delivered torque while driving: another unit or factor?`;
}

/** Regresses the difference on the rate of change: what follows by a time lags by it times the rate. */
function byLead(asked: Float64Array, delivered: Float64Array, differs: number, stepS: number): RoleCheck {
  let [n, sxx, sxy, syy] = [0, 0, 0, 0];
  for (let i = 1; i + 1 < asked.length; i++) {
    const rate = (asked[i + 1] - asked[i - 1] + delivered[i + 1] - delivered[i - 1]) / (4 * stepS);
    const cut = asked[i] - delivered[i];
    if (!(Math.abs(cut) < differs) || Number.isNaN(rate)) continue;
    n += 1;
    sxx += rate * rate;
    sxy += rate * cut;
    syy += cut * cut;
  }
  if (n < LEAST_PAIRS || sxx === 0) return { verdict: "cannot tell yet", why: "needs driving with both torques, on and off the pedal" };
  const leadS = sxy / sxx;
  const sigmaS = Math.sqrt(Math.max(0, syy - leadS * sxy) / (n - 1) / sxx);
  if (Math.abs(leadS) < LEAST_LEAD_S || Math.abs(leadS) < LEAST_SIGMAS * sigmaS)
    return { verdict: "cannot tell yet", why: "neither torque leads the other" };
  const ms = (1000 * Math.abs(leadS)).toFixed(0);
  if (leadS > 0) return { verdict: "fits", why: `delivered torque follows the asked one by ${ms} ms` };
  return { verdict: "refused", why: `the delivered torque leads the asked one by ${ms} ms: ${SWAPPED}`, reason: "swapped" };
}
