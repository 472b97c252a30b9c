/** Messages to and from the threads that time launches side by side, as plain data. */
import type { MessagePort } from "node:worker_threads";
import type { LaunchTask } from "../../../shared/pipeline/launch-team.ts";
import type { DerivedRun } from "../../../shared/run/run.ts";

/** Places on the board that all threads of a task share: the launch that is to be taken next, and how many answers were given. */
export const NEXT = 0;
export const ANSWERS = 1;

export interface LaunchWorkerData {
  readonly port: MessagePort;
}

export interface ToLaunchWorker {
  readonly id: number;
  readonly task: LaunchTask;
  readonly board: Int32Array;
}

export type FromLaunchWorker = { readonly id: number; readonly index: number } & (
  | { readonly run: DerivedRun }
  | { readonly error: string }
);
