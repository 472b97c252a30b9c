/**
 * Whether launches passed the peak, and if not, what would show it. "Reached" needs slip held on both sides of the best slip, beyond its
 * own uncertainty.
 */
import type { Figure } from "./figure.ts";
import type { FrictionRows } from "./friction-rows.ts";

export interface SlipExtent {
  /** Slips that were held for a tenth of a second in total, in either direction. */
  readonly least: number;
  readonly largest: number;
  /** Rows well below and well above the fitted best slip. */
  readonly under: number;
  readonly over: number;
}

/** A tenth of a second of rows. */
const HELD_ROWS = 10;
const WELL = 1.1;
/** Briefly passing the best slip is not enough: this far above it, for two tenths of a second. */
const WELL_OVER = 1.2;
const OVER_ROWS = 20;
/** A control cannot be set by a best slip that is more uncertain than this share of it. */
const MOST_DOUBT = 0.35;
const USUAL_BEST_PERCENT = 12;
const MOST_PERCENT = 40;
const CAUTION = "on a closed course with clear run-off, in small steps";

/** Over all rows of a surface. */
export function extentOf(runs: readonly FrictionRows[], bestSlip: number): SlipExtent {
  const slips = Float64Array.from(runs.flatMap((run) => Array.from(run.slip))).sort();
  const at = (row: number) => slips[Math.max(0, Math.min(slips.length - 1, row))];
  return {
    least: at(HELD_ROWS),
    largest: at(slips.length - 1 - HELD_ROWS),
    under: slips.filter((slip) => slip < bestSlip / WELL).length,
    over: slips.filter((slip) => slip > bestSlip * WELL_OVER).length,
  };
}

/** One sentence where best slip and peak are unknown; null where they are known. */
export function whyUnknown({ least, largest, under, over }: SlipExtent, { value, plusMinus95 }: Figure): string | null {
  const doubtful = plusMinus95 > MOST_DOUBT * value;
  if (over < OVER_ROWS || largest < value + plusMinus95) {
    const percent = Math.min(MOST_PERCENT, Math.max(USUAL_BEST_PERCENT, Math.ceil(140 * largest)));
    return `the peak was not reached: largest slip under full load ${largest.toFixed(2)}; one run that allows ${percent} % would show it, ${CAUTION}`;
  }
  if (under < HELD_ROWS || least > value - plusMinus95) {
    const percent = Math.max(3, Math.floor(50 * least));
    return `the peak was passed in every launch: least slip under full load ${least.toFixed(2)}; one run that holds slip to ${percent} % would show it`;
  }
  if (doubtful)
    return `the launches leave the peak open, anywhere about ${(100 * value).toFixed(1)} ± ${(100 * plusMinus95).toFixed(1)} %; more launches that pass it slowly would tell`;
  return null;
}
