/** Which difference the figure shows: the sentence's, or with drift taken out where there are runs enough. No interval gives null. */
import type { Comparison } from "../judge/judged-run.ts";
import { covers } from "../judge/wording.ts";

export interface ShownDifference {
  readonly shift: number;
  readonly low: number;
  readonly high: number;
  readonly coverage: number;
}

export function shownDifference({ said, drift }: Comparison, adjusted: boolean): ShownDifference | null {
  if (adjusted && drift !== null) return { shift: drift.adjustedDifference, low: drift.low, high: drift.high, coverage: 0.95 };
  return said !== null && covers(said) ? said : null;
}

/** A run as the figures show it. */
export interface ShownRun {
  readonly id: number;
  /** 0 and 1: first and second label of the pair. */
  readonly group: number;
  readonly seconds: number;
  readonly aside: boolean;
}

/** The pair's runs in driving order, including those set aside. */
export function shownRuns({ a, b, setAside }: Comparison, driven: readonly number[]): ShownRun[] {
  const used = new Map([a, b].flatMap((group, i) => group.runs.map((id, at) => [id, { group: i, seconds: group.values[at] }] as const)));
  return driven.flatMap((id): ShownRun[] => {
    const counted = used.get(id);
    if (counted !== undefined) return [{ id, ...counted, aside: false }];
    const put = setAside.find((run) => run.run === id);
    return put === undefined || put.seconds === null
      ? []
      : [{ id, group: put.label === a.label ? 0 : 1, seconds: put.seconds, aside: true }];
  });
}
