/**
 * What a live recording asks of the estimator: gates of the present launch, the run once it is over, a better calibration between launches.
 * Where an answer does not come, the values known before stay.
 */
import type { Calibration } from "../align/calibration.ts";
import type { Mark } from "../launch/mark.ts";
import type { DerivedRun } from "../run/run.ts";
import type { Estimates } from "./live-estimator.ts";
import type { LiveGates } from "./live-gates.ts";

/** docs/design.md keeps 3 s after a run; the epochs of that time arrive later by the receiver's delay. */
const RUN_COMPLETE_S = 3.4;
const CALIBRATE_EVERY_S = 15;

export interface LiveAsks {
  /** The newest calibration. */
  readonly calibration: Calibration;
  /** The newest of this recording's own; null while it has given none. */
  readonly fitted: Calibration | null;
  /** Provisional runs so far. */
  readonly runs: number;
  /** A launch ended at `endS`. */
  ended(endS: number): void;
  /** Asks the questions that are due. */
  work(nowS: number, launched: boolean): void;
  /** Provisional runs that became complete since the last call. */
  takeRuns(): DerivedRun[];
}

export interface LiveAsksParts {
  readonly estimates: Estimates;
  readonly liveGates: LiveGates;
  readonly marks: readonly Mark[];
  readonly calibration: Calibration;
  /** Number of epochs received so far. */
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

  /** While a question waits for its answer it is not asked again: a slow answer must not delay the next one. */
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
    get fitted() {
      return calibration === first ? null : calibration;
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
