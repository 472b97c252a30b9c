/** How a group of runs asks for torque and how its motor follows: the input of a simulated launch. Runs without torque give null. */
import { median } from "../kernel/statistics.ts";
import { type FittedCar, fullTorqueAt } from "./fitted-car.ts";
import { torquePathOf } from "./torque-path.ts";
import type { TuneRun } from "./tune-run.ts";
import { ROW_S } from "./tune-samples.ts";

export interface LaunchHabit {
  /** Share of full torque asked for, a row each 10 ms starting half a second before movement; median over the runs. */
  readonly askedShare: Float64Array;
  /** First-order lag of delivered torque behind its command, s; 0 where no command is mapped. */
  readonly motorLagS: number;
  /** Delivered torque, as reported, over its command once settled. */
  readonly deliveredShare: number;
}

/** Row of the launch's start in `askedShare`. */
export const MOVEMENT_ROW = 50;
const LAGS_S = Array.from({ length: 31 }, (_, i) => i * 0.002);

export function launchHabit(runs: readonly TuneRun[], car: FittedCar): LaunchHabit | null {
  const shares = runs.flatMap((run) => {
    const path = torquePathOf(run, car);
    const { motorRadps } = run.samples;
    if (path === null || motorRadps === null || run.endIndex <= run.startIndex) return [];
    const first = run.startIndex - MOVEMENT_ROW;
    return [
      Float64Array.from({ length: run.endIndex - first }, (_, i) => {
        const full = first + i < 0 ? null : fullTorqueAt(car, motorRadps[first + i]);
        return full === null ? 0 : Math.min(1, Math.max(0, path.askedNm[first + i] / full));
      }),
    ];
  });
  if (shares.length === 0) return null;
  const rows = Math.max(...shares.map((share) => share.length));
  const askedShare = Float64Array.from({ length: rows }, (_, i) => {
    const here = median(shares.map((share) => share[Math.min(i, share.length - 1)]));
    return Number.isFinite(here) ? here : 0;
  });
  return { askedShare, ...motorOf(runs) };
}

/** The lag and the delivered share with which a first-order motor best matches delivered torque. */
function motorOf(runs: readonly TuneRun[]): Pick<LaunchHabit, "motorLagS" | "deliveredShare"> {
  let best = { motorLagS: 0, deliveredShare: 1, cost: Number.POSITIVE_INFINITY };
  for (const lagS of LAGS_S) {
    const keep = lagS > 0 ? Math.exp(-ROW_S / lagS) : 0;
    let [dd, dm, mm] = [0, 0, 0];
    for (const { samples, startIndex, endIndex } of runs) {
      const { commandNm, deliveredNm } = samples;
      if (commandNm === null || deliveredNm === null) return { motorLagS: 0, deliveredShare: 1 };
      const from = Math.max(1, startIndex - MOVEMENT_ROW);
      let here = deliveredNm[from];
      for (let i = from; i < endIndex; i += 1) {
        const toward = (commandNm[i - 1] + commandNm[i]) / 2;
        here = toward + (here - toward) * keep;
        const delivered = deliveredNm[i];
        if (!Number.isFinite(delivered + here)) continue;
        dd += delivered * delivered;
        dm += delivered * here;
        mm += here * here;
      }
    }
    const cost = mm > 0 ? dd - (dm * dm) / mm : Number.POSITIVE_INFINITY;
    if (cost < best.cost) best = { motorLagS: lagS, deliveredShare: dm / mm, cost };
  }
  return best;
}
