/**
 * Each time that a run's torque was held back: when slip passed which level, how late the answer came, how deep and how calm it was, and
 * what it cost. Unknown values of an intervention are null; a run without torque has none and says why.
 */
import { type Aim, aimAt } from "./control-model.ts";
import type { Quickest } from "./quickest.ts";
import { swingsOf } from "./swings.ts";
import type { HeldSpan, TorquePath } from "./torque-path.ts";
import type { TuneRun } from "./tune-run.ts";
import { ROW_S } from "./tune-samples.ts";

export interface Intervention {
  /** Base times, s: when torque began to fall, and when it was given back (or the launch ended). */
  readonly fromS: number;
  readonly toS: number;
  readonly fromRow: number;
  readonly toRow: number;
  /** Ground speed and slip speed when torque began to fall, m/s. */
  readonly speedMps: number;
  readonly slipMps: number;
  /** Slip speed that the control allows at that speed, m/s; null where it could not be determined. */
  readonly levelMps: number | null;
  /** Base time at which slip passed that level; null where this was not seen. */
  readonly passedS: number | null;
  /** From there to torque falling, s. */
  readonly answersAfterS: number | null;
  /** Most torque held back, Nm, and as a share of what was asked for then. */
  readonly deepestNm: number;
  readonly deepestShare: number;
  /** Highest slip speed, m/s, and how far it is above the level, as a share of the level. */
  readonly peakSlipMps: number;
  readonly overshoot: number | null;
  /** From torque falling until slip stays near the value at which it is then held; null where it never does. */
  readonly settlesAfterS: number | null;
  readonly oscillationHz: number | null;
  /** Share of critical damping; null where nothing oscillates. */
  readonly damping: number | null;
  /** Seconds from passing the level to giving torque back, minus those of the quickest launch between the same speeds. */
  readonly costS: number | null;
}

/** A held bus value is on average half a frame old. */
const FRAME_AGE_S = ROW_S / 2;
/** Slip passed the level at most this long before the answer; an earlier pass has another cause. */
const LONGEST_ANSWER_S = 0.6;
const SETTLED_SHARE = 0.2;
const SETTLED_LEAST_MPS = 0.12;
/** Settling later than this share of the span does not count. */
const LATEST_SETTLING = 0.8;
const NOISE_SIGMAS = 3;
const TOGETHER_SHARE = 0.1;
/** Where slip passes the level more slowly than this, m/s2, the time of passing is not sharp. */
const SHARP_MPS2 = 1.5;

export interface InterventionContext {
  /** Slip speed that the control allows; null where unknown. */
  readonly aim: Aim | null;
  readonly quickest: Quickest | null;
}

/** The same on true time. */
export const trueOnset = (path: TorquePath, span: HeldSpan) => onsetRow(path, span) - FRAME_AGE_S / ROW_S;

/** Row, with a fraction, at which torque began to fall. */
function onsetRow({ apartNm, fromRow: first }: TorquePath, { fromRow }: HeldSpan): number {
  const apart = (row: number) => apartNm[row];
  let row = fromRow;
  // Goes back to the last row in which both torques were together; the threshold is passed a little later.
  while (row > first && apart(row - 1) > TOGETHER_SHARE * apart(fromRow) && apart(row - 1) < apart(row)) row -= 1;
  const [here, next] = [apart(row), apart(Math.min(row + 1, apartNm.length - 1))];
  const growth = next - here;
  const back = growth > 0 ? here / growth : Number.POSITIVE_INFINITY;
  // A step between two frames lies anywhere between them.
  return row - (back < 1 ? back : 0.5);
}

/** The last time before `toRow` at which slip rose through the allowed level; null where it was not below before, or passes too slowly. */
function passedRow(run: TuneRun, aim: Aim, firstRow: number, toRow: number): number | null {
  const { slipSpeedMps, groundSpeedMps } = run.samples;
  const over = (row: number) => slipSpeedMps[row] - aimAt(aim, groundSpeedMps[row]);
  const last = Math.min(slipSpeedMps.length - 1, Math.ceil(toRow));
  for (let row = last; row > firstRow; row -= 1) {
    const [before, here] = [over(row - 1), over(row)];
    if (!(before < 0 && here >= 0)) continue;
    const at = row - 1 + before / (before - here);
    if (at > toRow) continue;
    return (over(row + 1) - over(row - 2)) / (3 * ROW_S) > SHARP_MPS2 ? at : null;
  }
  return null;
}

/** A straight line of slip over ground speed in the later half of a span. */
function heldLine(run: TuneRun, { fromRow, toRow }: HeldSpan): (speedMps: number) => number {
  const { slipSpeedMps, groundSpeedMps } = run.samples;
  const from = Math.floor((fromRow + toRow) / 2);
  let [n, sv, ss, svv, svs] = [0, 0, 0, 0, 0];
  for (let i = from; i < toRow; i += 1) {
    const [v, s] = [groundSpeedMps[i], slipSpeedMps[i]];
    if (!Number.isFinite(v + s)) continue;
    n += 1;
    sv += v;
    ss += s;
    svv += v * v;
    svs += v * s;
  }
  const spread = svv - (sv * sv) / n;
  // A line needs different speeds; otherwise the mean is used.
  const slope = spread > n ? (svs - (sv * ss) / n) / spread : 0;
  return (v) => ss / n + slope * (v - sv / n);
}

function settlingRow(left: Float64Array, held: Float64Array): number | null {
  let row = left.length;
  while (row > 0 && Math.abs(left[row - 1]) <= Math.max(SETTLED_SHARE * Math.abs(held[row - 1]), SETTLED_LEAST_MPS)) row -= 1;
  return row > LATEST_SETTLING * left.length ? null : row;
}

function noiseMps(run: TuneRun, { fromRow, toRow }: HeldSpan): number {
  const { slipSigma, groundSpeedMps } = run.samples;
  let most = 0;
  for (let i = fromRow; i < toRow; i += 1) {
    const sigma = slipSigma[i] * groundSpeedMps[i];
    if (sigma > most) most = sigma;
  }
  return most;
}

/** One span as an intervention. */
export function interventionOf(run: TuneRun, path: TorquePath, span: HeldSpan, context: InterventionContext): Intervention {
  const { tS, slipSpeedMps, groundSpeedMps } = run.samples;
  const { fromRow, toRow } = span;
  const onset = onsetRow(path, span);
  const fromS = tS[0] + onset * ROW_S - FRAME_AGE_S;
  const onsetPlace = onset - FRAME_AGE_S / ROW_S;
  const speedMps = groundSpeedMps[fromRow];
  const first = Math.max(path.fromRow, Math.floor(onset - LONGEST_ANSWER_S / ROW_S));
  const passed = context.aim === null ? null : passedRow(run, context.aim, first, onsetPlace);
  const levelMps = context.aim === null ? null : aimAt(context.aim, groundSpeedMps[Math.round(passed ?? onset)]);
  let deepest = fromRow;
  let peakSlipMps = 0;
  for (let i = fromRow; i < toRow; i += 1) {
    if (path.heldNm[i] > path.heldNm[deepest]) deepest = i;
    if (slipSpeedMps[i] > peakSlipMps) peakSlipMps = slipSpeedMps[i];
  }
  const line = heldLine(run, span);
  const held = groundSpeedMps.slice(fromRow, toRow).map(line);
  const left = slipSpeedMps.slice(fromRow, toRow).map((slip, i) => slip - held[i]);
  const settled = settlingRow(left, held);
  const swings = swingsOf(left, ROW_S, Math.max(0.05, NOISE_SIGMAS * noiseMps(run, span)));
  const costFrom = Math.round(passed ?? onset);
  const end = Math.min(toRow, run.endIndex - 1);
  return {
    fromS,
    toS: tS[end] ?? fromS,
    fromRow,
    toRow,
    speedMps,
    slipMps: slipSpeedMps[fromRow],
    levelMps,
    passedS: passed === null ? null : tS[0] + passed * ROW_S,
    answersAfterS: passed === null ? null : (onsetPlace - passed) * ROW_S,
    deepestNm: path.heldNm[deepest],
    deepestShare: path.heldNm[deepest] / path.askedNm[deepest],
    peakSlipMps,
    overshoot: levelMps === null || !(levelMps > 0) ? null : Math.max(0, peakSlipMps / levelMps - 1),
    settlesAfterS: settled === null ? null : Math.max(0, (fromRow + settled - onset) * ROW_S),
    oscillationHz: swings?.hz ?? null,
    damping: swings?.damping ?? null,
    costS:
      context.quickest === null || end <= costFrom
        ? null
        : tS[end] - tS[costFrom] - (context.quickest.timeS(groundSpeedMps[end]) - context.quickest.timeS(groundSpeedMps[costFrom])),
  };
}
