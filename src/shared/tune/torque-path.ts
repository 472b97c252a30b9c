/**
 * Torque asked for and torque let through, row by row, and where torque was held back. The request is compared with the command where the
 * bus has one, otherwise with delivered torque, which follows later. A run without both gives null.
 */
import { type FittedCar, fullTorqueAt } from "./fitted-car.ts";
import { gearChangedAt } from "./gear-change.ts";
import type { TuneRun } from "./tune-run.ts";

export interface TorquePath {
  /** What the driver asked for, limited to what the motor has at that speed, Nm. */
  readonly askedNm: Float64Array;
  /** What was let through, Nm. */
  readonly throughNm: Float64Array;
  /** Torque asked for minus torque let through, beyond what their time lag explains, Nm. */
  readonly apartNm: Float64Array;
  /** The same where it is enough to count as held back, else 0. */
  readonly heldNm: Float64Array;
  readonly from: "command" | "delivered";
  /** Most torque asked for in this run, Nm. */
  readonly fullNm: number;
  /** Rows of the run that are examined, starting with the pedal's first movement. */
  readonly fromRow: number;
  readonly toRow: number;
}

/** A span of torque held back: its first row, and the row after its last. */
export interface HeldSpan {
  readonly fromRow: number;
  readonly toRow: number;
}

/** The pedal is pressed before the car moves. */
const BEFORE_MOVEMENT_ROWS = 50;
/** Torque follows the request within this many rows: the age of the frames, and for delivered torque the inverter's own lag. */
const MOST_LAG_ROWS = { command: 2, delivered: 6 } as const;
const USUAL_LAG_ROWS = { command: 0.5, delivered: 2 } as const;
/** While the pedal is pressed down, the request rises faster than this, Nm a row. */
const RISING_NM = 2;
const LEAST_RISING_ROWS = 4;
/** Share of full torque that counts as held back: as in losses.ts, more where the inverter's own lag shows. */
const HELD_SHARE = { command: 0.02, delivered: 0.03 } as const;
/** Two spans with a shorter pause are one intervention. */
const PAUSE_ROWS = 10;
const LEAST_SPAN_ROWS = 2;

/** By how many rows the torque let through lags the request, measured while the pedal is pressed down and nothing is held back yet. */
function lagRows(askedNm: Float64Array, through: Float64Array, from: TorquePath["from"], fromRow: number, toRow: number): number {
  const lags: number[] = [];
  for (let i = fromRow + 1; i + 1 < toRow && lags.length < 3 * BEFORE_MOVEMENT_ROWS; i += 1) {
    const rise = (askedNm[i + 1] - askedNm[i - 1]) / 2;
    const lag = (askedNm[i] - through[i]) / rise;
    if (rise > RISING_NM && askedNm[i] - askedNm[i - 1] > RISING_NM / 2 && lag < MOST_LAG_ROWS[from] + 1) lags.push(lag);
  }
  if (lags.length < LEAST_RISING_ROWS) return USUAL_LAG_ROWS[from];
  lags.sort((a, b) => a - b);
  return Math.min(MOST_LAG_ROWS[from], Math.max(0, lags[lags.length >> 1]));
}

/** Null where the request, or both command and delivered torque, are not mapped. */
export function torquePathOf(run: TuneRun, car: Pick<FittedCar, "fullTorqueNm" | "fullPowerW">): TorquePath | null {
  const { askedNm: asked, commandNm, deliveredNm, motorRadps } = run.samples;
  const through = commandNm ?? deliveredNm;
  if (asked === null || through === null) return null;
  const from = commandNm === null ? "delivered" : "command";
  const fromRow = Math.max(0, run.startIndex - BEFORE_MOVEMENT_ROWS);
  // What comes after a second gear is in tells nothing.
  const toRow = gearChangedAt(run) ?? run.endIndex;
  const askedNm = asked.map((nm, i) => Math.min(nm, fullTorqueAt(car, motorRadps?.[i] ?? 0) ?? nm));
  let fullNm = 0;
  for (let i = fromRow; i < toRow; i += 1) if (askedNm[i] > fullNm) fullNm = askedNm[i];
  const heldNm = new Float64Array(askedNm.length);
  const apartNm = new Float64Array(askedNm.length);
  const lag = lagRows(askedNm, through, from, fromRow, toRow);
  for (let i = fromRow; i < toRow; i += 1) {
    // What can be let through by now: the request of that long ago, where that was less.
    const before = Math.floor(i - lag);
    const ago = before < fromRow ? askedNm[fromRow] : askedNm[before] + (i - lag - before) * (askedNm[before + 1] - askedNm[before]);
    apartNm[i] = Math.max(0, Math.min(askedNm[i], ago) - through[i]);
    heldNm[i] = apartNm[i] > HELD_SHARE[from] * fullNm ? apartNm[i] : 0;
  }
  return { askedNm, throughNm: through, apartNm, heldNm, from, fullNm, fromRow, toRow };
}

/** Spans in driving order. */
export function heldSpans({ heldNm, fromRow, toRow }: Pick<TorquePath, "heldNm" | "fromRow" | "toRow">): HeldSpan[] {
  const spans: { fromRow: number; toRow: number }[] = [];
  for (let i = fromRow; i < toRow; i += 1) {
    if (heldNm[i] === 0) continue;
    const last = spans[spans.length - 1];
    if (last !== undefined && i - last.toRow < PAUSE_ROWS) last.toRow = i + 1;
    else spans.push({ fromRow: i, toRow: i + 1 });
  }
  return spans.filter((span) => span.toRow - span.fromRow >= LEAST_SPAN_ROWS);
}
