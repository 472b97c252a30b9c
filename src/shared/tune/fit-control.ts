/**
 * The control of a group of runs, found from how its command changed from row to row while it held torque back, against the slip that was measured
 * some time before. Null where torque was hardly held back, or where slip does not explain how.
 */
import { linearLeastSquares } from "../kernel/linear-least-squares.ts";
import { nonlinearLeastSquares } from "../kernel/nonlinear-least-squares.ts";
import { AIM_SPEEDS_MPS, aimAt, type ControlModel } from "./control-model.ts";
import type { HeldSpan } from "./torque-path.ts";
import { ROW_S } from "./tune-samples.ts";

export interface ControlFit {
  readonly model: ControlModel;
  /** Share of the command's changes that the model explains, 0 to 1. */
  readonly explained: number;
}

/** Columns of one run, a row each 10 ms, and where its torque was held back. */
export interface ControlCourse {
  readonly slipMps: Float64Array;
  readonly speedMps: Float64Array;
  readonly commandNm: Float64Array;
  readonly heldNm: Float64Array;
  readonly spans: readonly HeldSpan[];
  /** Where each span's torque began to come down, rows with a fraction, on true time. */
  readonly onsets: readonly number[];
}

const LATE_ROWS = [0, 1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20] as const;
const LEAST_ROWS = 20;
/** A held bus value is half a frame old on average. */
const FRAME_AGE_ROWS = 0.5;
/** A command this near its least may stand on a floor that the control never goes below. */
const FLOOR_SHARE = 1.02;
const LEAST_AIM_MPS = 0.05;
const LEAST_NM_PER_M = 20;
/** A control's step, not rounding. */
const STEP_NM = 0.05;
/** No control gives torque back faster than this, Nm/s: as good as no limit. */
const FREELY_NM_PER_S = 5000;
const SLOWLY_NM_PER_S = 400;
const HUBER = 2;
const LEAST_ONSET_SIGMA_MPS = 0.05;

/** A change of the command from one look to the next: the rows in which they first show. */
interface Change {
  readonly course: ControlCourse;
  readonly from: number;
  readonly end: number;
  readonly nm: number;
}

/** Value of a column between rows; its first value before it, its last after. */
function between(column: Float64Array, place: number): number {
  if (place <= 0) return column[0];
  const last = column.length - 1;
  if (place >= last) return column[last];
  const i = Math.floor(place);
  return column[i] + (place - i) * (column[i + 1] - column[i]);
}

/** `rows`: looks are so far apart; 1 where each frame of the bus brings a new command. */
function changesOf(courses: readonly ControlCourse[], rows: number): Change[] {
  const changes: Change[] = [];
  for (const course of courses) {
    const { commandNm, heldNm, spans } = course;
    let least = Number.POSITIVE_INFINITY;
    for (const { fromRow, toRow } of spans) for (let i = fromRow; i < toRow; i += 1) least = Math.min(least, commandNm[i]);
    const free = (i: number) => heldNm[i] > 0 && commandNm[i] > Math.max(1, FLOOR_SHARE * least);
    for (const { fromRow, toRow } of spans) {
      let from = fromRow;
      for (let end = fromRow + 1; end < toRow; end += 1) {
        if (rows > 1 && Math.abs(commandNm[end] - commandNm[end - 1]) <= STEP_NM) continue;
        if (free(end) && free(from) && end - from < 2 * rows) changes.push({ course, from, end, nm: commandNm[end] - commandNm[from] });
        from = end;
      }
    }
  }
  return changes;
}

/** First guess for one lateness, by straight least squares: the allowed slip as a line over speed, giving back as hard as taking away. */
function guess(changes: readonly Change[], lateRows: number): { start: number[]; left: number } {
  const columns = Array.from({ length: 4 }, () => new Float64Array(changes.length));
  changes.forEach(({ course, from, end }, i) => {
    const at = end - FRAME_AGE_ROWS - lateRows;
    const rows = end - from;
    columns[0][i] = rows;
    columns[1][i] = rows * between(course.slipMps, at);
    columns[2][i] = rows * between(course.speedMps, at);
    columns[3][i] = between(course.slipMps, at) - between(course.slipMps, at - rows);
  });
  const { coefficients, residualSumOfSquares } = linearLeastSquares(
    columns,
    Float64Array.from(changes, ({ nm }) => nm),
  );
  const [c0, c1, c2, c3] = coefficients;
  const perRow = Math.max(LEAST_NM_PER_M * ROW_S, -c1);
  const aims = AIM_SPEEDS_MPS.map((v) => Math.log(Math.max(LEAST_AIM_MPS, (c0 + c2 * v) / perRow)));
  const start = [...aims, Math.log(Math.max(3, -c3)), Math.log(perRow / ROW_S), Math.log(FREELY_NM_PER_S), lateRows * ROW_S];
  return { start, left: residualSumOfSquares };
}

function modelOf(x: ArrayLike<number>, everyS: number): ControlModel {
  return {
    aimMps: [Math.exp(x[0]), Math.exp(x[1]), Math.exp(x[2])],
    nmPerMps: Math.exp(x[3]),
    nmPerM: Math.exp(x[4]),
    backNmPerS: Math.exp(x[5]),
    lateS: Math.max(0, x[6]),
    everyS,
  };
}

/** What the model would have changed. */
function modelled(model: ControlModel, { course, from, end }: Change): number {
  const at = end - FRAME_AGE_ROWS - model.lateS / ROW_S;
  const rows = end - from;
  const excess = (place: number) => between(course.slipMps, place) - aimAt(model.aimMps, between(course.speedMps, place));
  const over = excess(at);
  const sum = over > 0 ? -model.nmPerM * over : Math.min(-model.nmPerM * over, model.backNmPerS);
  return rows * ROW_S * sum - model.nmPerMps * (over - excess(at - rows));
}

/** Middle and standard deviation of what no run may show: keeps the fit in hand, says nothing where they do. */
const USUAL = [
  { at: 0, middle: Math.log(0.4), sigma: 1 },
  { at: 1, middle: Math.log(0.5), sigma: 1.5 },
  { at: 2, middle: Math.log(1.5), sigma: 1.5 },
  { at: 3, middle: Math.log(50), sigma: 2.5 },
  { at: 4, middle: Math.log(1000), sigma: 2 },
  { at: 5, middle: Math.log(2000), sigma: 2 },
] as const;

/** How far slip was over what is allowed when the answer to it was decided, in standard deviations: it had just passed it. */
function onsetResiduals(model: ControlModel, courses: readonly ControlCourse[], out: Float64Array, from: number): void {
  let row = from;
  for (const { slipMps, speedMps, onsets } of courses) {
    for (const onset of onsets) {
      // Between two looks it was passed at any time.
      const at = onset - (model.lateS + model.everyS / 2) / ROW_S;
      const slip = between(slipMps, at);
      const perRow = Math.abs(slip - between(slipMps, at - 1));
      const sigma = LEAST_ONSET_SIGMA_MPS + perRow * (FRAME_AGE_ROWS + (0.3 * model.everyS) / ROW_S);
      out[row] = (aimAt(model.aimMps, between(speedMps, at)) - slip) / sigma;
      row += 1;
    }
  }
}

function refine(courses: readonly ControlCourse[], changes: readonly Change[], everyS: number, start: readonly number[], sigmaNm: number) {
  const onsets = courses.reduce((sum, course) => sum + course.onsets.length, 0);
  const count = changes.length + USUAL.length + onsets;
  const residualsOf = (x: ArrayLike<number>, out: Float64Array) => {
    const model = modelOf(x, everyS);
    changes.forEach((change, i) => {
      const r = (change.nm - modelled(model, change)) / sigmaNm;
      // Changes that no such control makes (a floor, another limit) must not bend the fit: beyond two sigma the cost grows straight.
      out[i] = Math.abs(r) <= HUBER ? r : Math.sign(r) * Math.sqrt(HUBER * (2 * Math.abs(r) - HUBER));
    });
    USUAL.forEach(({ at, middle, sigma }, k) => {
      out[changes.length + k] = -(x[at] - middle) / sigma;
    });
    onsetResiduals(model, courses, out, changes.length + USUAL.length);
  };
  const moved = new Float64Array(count);
  const { parameters, residualSumOfSquares } = nonlinearLeastSquares({
    start,
    rows: count,
    maxIterations: 30,
    tolerance: 1e-3,
    evaluate(x, residuals, derivatives) {
      residualsOf(x, residuals);
      derivatives.forEach((column, k) => {
        const step = k === 6 ? 0.001 : 0.01;
        const there = Float64Array.from(x);
        there[k] += step;
        residualsOf(there, moved);
        for (let i = 0; i < count; i += 1) column[i] = (residuals[i] - moved[i]) / step;
      });
    },
  });
  return { x: parameters, cost: residualSumOfSquares };
}

/** Fits the control of these runs; `everyS`: how often it looks, 0 where each frame of the bus brings a new command. */
export function fitControl(courses: readonly ControlCourse[], everyS: number): ControlFit | null {
  const rows = Math.max(1, Math.round(everyS / ROW_S));
  const changes = changesOf(courses, rows);
  if (changes.length < LEAST_ROWS) return null;
  const guesses = LATE_ROWS.map((late) => guess(changes, late)).sort((a, b) => a.left - b.left);
  const sigmaNm = Math.max(0.5, Math.sqrt(guesses[0].left / changes.length));
  let best: { x: Float64Array; cost: number } | null = null;
  for (const { start } of guesses.slice(0, 2)) {
    for (const [harder, back] of [
      [0, FREELY_NM_PER_S],
      [1, SLOWLY_NM_PER_S],
    ] as const) {
      const found = refine(courses, changes, everyS, [...start.slice(0, 4), start[4] + harder, Math.log(back), start[6]], sigmaNm);
      if (best === null || found.cost < best.cost) best = found;
    }
  }
  if (best === null) return null;
  const model = modelOf(best.x, everyS);
  let [left, all] = [0, 0];
  for (const change of changes) {
    left += (change.nm - modelled(model, change)) ** 2;
    all += change.nm ** 2;
  }
  return { model, explained: all > 0 ? Math.max(0, 1 - left / all) : 0 };
}
