/**
 * Who times the launches that were found in a recording: this thread, one after the other, or several threads side by side. The runs are the same to the
 * last bit and come in the order of the launches. An error in timing one is thrown where its run is asked for.
 */
import type { AlignedRecording } from "../align/aligned-recording.ts";
import type { EstimateRunInput } from "../launch/estimate-input.ts";
import { estimateRun } from "../run/estimate-run.ts";
import type { DerivedRun } from "../run/run.ts";

/** Plain data, since it is sent to threads. */
export interface LaunchTask extends Omit<EstimateRunInput, "window" | "uid"> {
  readonly launches: readonly Pick<EstimateRunInput, "window" | "uid">[];
}

export interface Timing {
  /** In which the launches are timed. */
  readonly recording: AlignedRecording;
  /** True: others time them too, whatever the caller does meanwhile, and the recording that was given may change. */
  readonly isBeside: boolean;
  /** The next run; null while another thread is at it: ask again. Works or waits for some hundredths of a second. */
  next(): DerivedRun | null;
  /** Nobody asks for the others. */
  drop(): void;
}

export interface LaunchTeam {
  /** The task before must be over. */
  time(task: LaunchTask): Timing;
}

export function timeLaunch({ launches, ...common }: LaunchTask, index: number): DerivedRun {
  return estimateRun({ ...common, ...(launches[index] as LaunchTask["launches"][number]) });
}

export function timedInline(task: LaunchTask): Timing {
  let next = 0;
  return {
    recording: task.recording,
    isBeside: false,
    next: () => timeLaunch(task, next++),
    drop: () => undefined,
  };
}

export const ALONE: LaunchTeam = { time: timedInline };
