/** Runs of the invented day, built from times alone. */
import type { JudgedRun } from "../../../src/shared/judge/judged-run.ts";

export function judgedRun(id: number, label: string, seconds: number | null, more: Partial<JudgedRun> = {}): JudgedRun {
  return {
    id,
    label,
    seconds,
    final: true,
    drivenAt: id,
    plusMinus95: 0.012,
    courseDeg: null,
    use: true,
    note: "",
    setAsideAfterTimeSeen: null,
    flags: [],
    conditions: {},
    measured: {},
    calibrationId: 1,
    receiver: "simulated",
    day: null,
    car: null,
    planned: null,
    ...more,
  };
}

/** `order` names each run's group by its index in `labels`; times are taken in order. */
export function drivenDay(
  labels: readonly [string, string],
  order: readonly number[],
  a: readonly number[],
  b: readonly number[],
): JudgedRun[] {
  const next = [0, 0];
  return order.map((group, i) => {
    const seconds = (group === 0 ? a : b)[next[group]];
    next[group] = next[group] + 1;
    return judgedRun(i + 1, labels[group] as string, seconds);
  });
}
