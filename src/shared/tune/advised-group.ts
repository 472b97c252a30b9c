/** A group of runs with all that was found of it: where its time went, and what its control was seen doing. */
import type { GroupControl } from "./group-control.ts";
import type { GroupLosses } from "./group-losses.ts";

export interface AdvisedGroup extends GroupLosses {
  readonly control: GroupControl;
}
