/** How often a control looks, from the steps of torque while it held some back: never finer than the bus carries it. Null where too few steps were seen. */
import type { HeldSpan, TorquePath } from "./torque-path.ts";
import { ROW_S } from "./tune-samples.ts";

export interface SeenEvery {
  readonly seconds: number;
  /** Whether torque changed with every frame: then it looks at least this often, and the bus does not tell more. */
  readonly atBus: boolean;
}

const LEAST_STEPS = 8;
/** A control's step, not the sensor's noise. */
const STEP_NM = 0.05;
/** A longer gap than this many usual ones is a control that is content, or a step too small to see. */
const CONTENT = 1.6;
const AS_BUS = 1.5;

function gapsOf(column: ArrayLike<number>, spans: readonly HeldSpan[]): number[] {
  const gaps: number[] = [];
  for (const { fromRow, toRow } of spans) {
    let last = -1;
    for (let i = fromRow + 1; i < toRow; i += 1) {
      if (Math.abs(column[i] - column[i - 1]) <= STEP_NM) continue;
      if (last >= 0) gaps.push(i - last);
      last = i;
    }
  }
  return gaps;
}

/** Mean gap between steps in rows, long pauses left out; NaN where there are too few. */
function usualGap(gaps: readonly number[]): number {
  if (gaps.length < LEAST_STEPS) return Number.NaN;
  const sorted = [...gaps].sort((a, b) => a - b);
  const median = sorted[sorted.length >> 1];
  const usual = gaps.filter((gap) => gap <= CONTENT * median);
  return usual.reduce((sum, gap) => sum + gap, 0) / usual.length;
}

/** `spans`: where torque was held back. The bus's own pace is that of the motor's speed and of torque that only follows the pedal. */
export function seenEvery(
  paths: readonly { readonly path: TorquePath; readonly spans: readonly HeldSpan[]; readonly motorRadps: Float64Array | null }[],
): SeenEvery | null {
  const steps = usualGap(paths.flatMap(({ path, spans }) => (path.from === "command" ? gapsOf(path.throughNm, spans) : [])));
  if (!Number.isFinite(steps)) return null;
  const bus = usualGap(paths.flatMap(({ motorRadps, spans }) => (motorRadps === null ? [] : gapsOf(motorRadps, spans))));
  const atBus = !(steps > AS_BUS * (Number.isFinite(bus) ? bus : 1));
  return { seconds: Math.round(steps * ROW_S * 1e3) / 1e3, atBus };
}
