/** What is told of noticing spin: each way replayed, a fixed limit swept, and a control that looks more or less often, simulated for one group. */
import type { LookingRate } from "./looking-rates.ts";
import type { LimitPoint, NoticeAnswer } from "./notice.ts";

export interface SpinAnswer {
  readonly notice: { readonly ways: readonly NoticeAnswer[]; readonly limits: readonly LimitPoint[] };
  /** Null where no group was asked for. */
  readonly predicted: {
    readonly group: string;
    readonly gate: string;
    readonly words: string;
    readonly looks: readonly LookingRate[];
  } | null;
}
