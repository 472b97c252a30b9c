/** How often a control looks, from the steps of torque while it held some back; never finer than the bus shows. Null with too few steps. */
import type { HeldSpan, TorquePath } from "./torque-path.ts";
import { ROW_S } from "./tune-samples.ts";

export interface SeenEvery {
  readonly seconds: number;
  /** Whether torque changed with every frame: the control then looks at least this often, and the bus cannot show more. */
  readonly atBus: boolean;
}

const LEAST_STEPS = 8;
/** A smaller step is the sensor's noise, not the control. */
export const STEP_NM = 0.05;
/** A gap longer than this many usual gaps is a control without need to change, or a step too small to see. */
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

/** Mean gap between steps in rows, without long pauses; NaN where there are too few. */
function usualGap(gaps: readonly number[]): number {
  if (gaps.length < LEAST_STEPS) return Number.NaN;
  const sorted = [...gaps].sort((a, b) => a - b);
  const median = sorted[sorted.length >> 1];
  const usual = gaps.filter((gap) => gap <= CONTENT * median);
  return usual.reduce((sum, gap) => sum + gap, 0) / usual.length;
}

/** `spans`: where torque was held back. The rate of the bus is that of motor speed and of torque that only follows the pedal. */
export function seenEvery(
  paths: readonly { readonly path: TorquePath; readonly spans: readonly HeldSpan[]; readonly motorRadps: Float64Array | null }[],
): SeenEvery | null {
  const steps = usualGap(paths.flatMap(({ path, spans }) => (path.from === "command" ? gapsOf(path.throughNm, spans) : [])));
  if (!Number.isFinite(steps)) return null;
  const bus = usualGap(paths.flatMap(({ motorRadps, spans }) => (motorRadps === null ? [] : gapsOf(motorRadps, spans))));
  const atBus = !(steps > AS_BUS * (Number.isFinite(bus) ? bus : 1));
  return { seconds: Math.round(steps * ROW_S * 1e3) / 1e3, atBus };
}
