/** The input from which one launch is estimated. */
import type { AlignedRecording } from "../align/aligned-recording.ts";
import type { Calibration } from "../align/calibration.ts";
import type { SetUp } from "../setup/set-up.ts";
import type { LaunchWindow } from "./find-launches.ts";
import type { Gate } from "./gate.ts";

export interface EstimateRunInput {
  readonly recording: AlignedRecording;
  readonly calibration: Calibration;
  readonly setUp: SetUp;
  readonly window: LaunchWindow;
  readonly gates: readonly Gate[];
  readonly uid: string;
}
