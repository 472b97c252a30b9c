/**
 * What a recording under way asks of the estimator: gates of the launch being driven, the run once it is over, a better calibration between
 * launches. An answer that does not come leaves what was known.
 */
import type { Calibration } from "../align/calibration.ts";
import type { Mark } from "../launch/mark.ts";
import type { DerivedRun } from "../run/run.ts";
import type { Estimates } from "./live-estimator.ts";
import type { LiveGates } from "./live-gates.ts";

/** docs/design.md keeps 3 s after a run; epochs of that stretch still need their delay to arrive. */
const RUN_COMPLETE_S = 3.4;
const CALIBRATE_EVERY_S = 15;

export interface LiveAsks {
  /** The newest there is. */
  readonly calibration: Calibration;
  /** Provisional runs so far. */
  readonly runs: number;
  /** A launch was over at `endS`. */
  ended(endS: number): void;
  /** Asks what is due. */
  work(nowS: number, launched: boolean): void;
  /** Provisional runs that became complete since the last call. */
  takeRuns(): DerivedRun[];
}

export interface LiveAsksParts {
  readonly estimates: Estimates;
  readonly liveGates: LiveGates;
  readonly marks: readonly Mark[];
  readonly calibration: Calibration;
  /** Epochs heard so far. */
  readonly epochs: () => number;
}

export function createLiveAsks({ estimates, liveGates, marks, calibration: first, epochs }: LiveAsksParts): LiveAsks {
  const complete: DerivedRun[] = [];
  let calibration = first;
  let runs = 0;
  let calibratedS = 0;
  let settling = false;
  let endedS: number | null = null;

  function takeComplete(fresh: readonly DerivedRun[]): void {
    for (const run of fresh) {
      runs += 1;
      complete.push(run);
      liveGates.settle(run.gates, run.movementS);
    }
  }

  /** A question that is under way is not asked again: a slow answer must not make the next one late. */
  function settle(nowS: number): void {
    const movementS = settling ? null : liveGates.toSettle(nowS, epochs());
    if (movementS === null) return;
    settling = true;
    estimates.ask("settle", { movementS }, (results) => {
      settling = false;
      liveGates.settle(results ?? [], movementS);
    });
  }

  return {
    get calibration() {
      return calibration;
    },
    get runs() {
      return runs;
    },
    ended(endS) {
      endedS = endS;
    },
    work(nowS, launched) {
      if (endedS !== null && nowS >= endedS + RUN_COMPLETE_S) {
        endedS = null;
        estimates.ask("runs", { marks: [...marks] }, (fresh) => takeComplete(fresh ?? []));
      } else if (launched || endedS !== null) settle(nowS);
      else if (nowS - calibratedS >= CALIBRATE_EVERY_S) {
        calibratedS = nowS;
        estimates.ask("calibrate", null, (better) => {
          calibration = better ?? calibration;
        });
      }
    },
    takeRuns: () => complete.splice(0),
  };
}
