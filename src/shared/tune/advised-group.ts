/** A group of runs with all results about it: its losses, and what its control was seen doing. */
import type { GroupControl } from "./group-control.ts";
import type { GroupLosses } from "./group-losses.ts";

export interface AdvisedGroup extends GroupLosses {
  readonly control: GroupControl;
}
