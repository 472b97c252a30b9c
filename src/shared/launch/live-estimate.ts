/**
 * Times gates while the car still drives: the launch fit over the data so far. Gates too near the newest epoch are left out until the next
 * one; too little data gives an empty list.
 */
import type { AlignedRecording } from "../align/aligned-recording.ts";
import type { Calibration } from "../align/calibration.ts";
import type { SetUp } from "../setup/set-up.ts";
import { fitLaunch } from "./fit-launch.ts";
import type { Gate } from "./gate.ts";
import { timeGates } from "./gate-times.ts";
import { prepareLaunch } from "./prepare-launch.ts";
import type { GateResult } from "./gate-result.ts";

/** A gate is final once this much data follows it, s: well within the promised second. */
const BEHIND_S = 0.35;

export interface LiveLaunch {
  readonly recording: AlignedRecording;
  readonly calibration: Calibration;
  readonly setUp: SetUp;
  readonly gates: readonly Gate[];
  /** Last instant surely at rest, and first surely moving (10 km/h), s on the recording's base. */
  readonly restS: number;
  readonly movingS: number;
}

/** Gates passed at least 0.35 s before the newest epoch, with their intervals. */
export function settleGates({ recording, calibration, setUp, gates, restS, movingS }: LiveLaunch): GateResult[] {
  const { tS } = recording.epochs;
  if (tS.length === 0) return [];
  const newestS = tS[tS.length - 1] - calibration.gnssDelayS.value;
  const window = {
    fromS: restS,
    toS: newestS,
    restS,
    movingS,
    endS: newestS,
    liftS: newestS,
    endedBy: "recordingEnd",
    stopS: null,
  } as const;
  const prepared = prepareLaunch(recording, calibration, setUp, window, newestS);
  const fit = prepared ? fitLaunch(prepared) : null;
  if (!fit) return [];
  return timeGates(fit, gates, "the run goes on").filter((gate) => gate.atS !== null && gate.atS < newestS - BEHIND_S);
}
