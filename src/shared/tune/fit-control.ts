/**
 * Fits the control of a group of runs: how its command changed from look to look while it held torque back, against the slip measured some
 * time before. Null where torque was hardly held back, or where slip does not explain the changes.
 */
import { linearLeastSquares } from "../kernel/linear-least-squares.ts";
import { nonlinearLeastSquares } from "../kernel/nonlinear-least-squares.ts";
import { between, type CommandChange, changesOf, type ControlCourse, leastCommand, standsLowest } from "./command-changes.ts";
import { aimAt, type ControlModel, rateAt } from "./control-model.ts";
import { ROW_S } from "./tune-samples.ts";

export interface ControlFit {
  readonly model: ControlModel;
  /** Share of the command's changes that the model explains, 0 to 1. */
  readonly explained: number;
  /** Standard deviations that the rows alone leave: of the logarithms of the four rates, in the model's order. */
  readonly open: readonly [number, number, number, number];
  /**
   * The model without each run in turn, or without each of twenty parts of a longer list: how far the model is sure follows from how these
   * differ (jackknife). Empty for a single run.
   */
  readonly without: readonly ControlModel[];
}

const LATE_ROWS = [0, 1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20] as const;
/** Early, middling and late ones among them: from an index to another. */
const PARTS = [
  [0, 4],
  [4, 8],
  [8, LATE_ROWS.length],
] as const;
const LEAST_CHANGES = 20;
/** A held bus value is on average half a frame old. */
const FRAME_AGE_ROWS = 0.5;
const LEAST_STANDING_MPS = 0.1;
const USUAL_STANDING_MPS = 0.35;
const LEAST_SHARE = 0.005;
const LEAST_NM_PER_M = 20;
/** No control changes torque faster than this, Nm/s; it means "no limit". */
const FREELY_NM_PER_S = 5000;
const SLOWLY_NM_PER_S = 400;
const HUBER = 2;
const LEAST_ONSET_SIGMA_MPS = 0.05;
const FLOOR_NM = 3;
const LEAST_FLOOR_ROWS = 8;
const ITERATIONS = 30;
const AGAIN_ITERATIONS = 8;
/** So many fits without a part know a variance well enough; the cost would otherwise grow with the square of the runs. */
const MOST_PARTS = 20;

/** What stays fixed during one fit. */
interface Form {
  readonly added: boolean;
  readonly everyS: number;
}

/** Prior mean and standard deviation of the logarithms: they keep the fit stable, and matter little where the runs determine it. */
const USUAL = [
  { middle: Math.log(0.4), sigma: 1 },
  { middle: Math.log(0.08), sigma: 1 },
  { middle: Math.log(50), sigma: 2.5 },
  { middle: Math.log(1000), sigma: 2 },
  { middle: Math.log(2000), sigma: 1 },
  { middle: Math.log(3000), sigma: 2 },
] as const;
const LATE = USUAL.length;

function modelOf(x: ArrayLike<number>, { added, everyS }: Form): ControlModel {
  return {
    aim: { standingMps: Math.exp(x[0]), share: Math.exp(x[1]), added },
    nmPerMps: Math.exp(x[2]),
    nmPerM: Math.exp(x[3]),
    awayNmPerS: Math.exp(x[4]),
    backNmPerS: Math.exp(x[5]),
    floorNm: 0,
    lateS: Math.max(0, x[LATE]),
    everyS,
  };
}

/** First guess for one lateness, by linear least squares: the allowed slip as a line over speed, giving back as hard as taking away. */
function guess(changes: readonly CommandChange[], lateRows: number): { start: number[]; left: number } {
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
  const start = [
    Math.log(Math.max(LEAST_STANDING_MPS, c0 / perRow)),
    Math.log(Math.max(LEAST_SHARE, c2 / perRow)),
    Math.log(Math.max(3, -c3)),
    Math.log(perRow / ROW_S),
    Math.log(FREELY_NM_PER_S),
    Math.log(FREELY_NM_PER_S),
    lateRows * ROW_S,
  ];
  return { start, left: residualSumOfSquares };
}

/** The change that the model predicts. */
function modelled(model: ControlModel, { course, from, end }: CommandChange): number {
  const at = end - FRAME_AGE_ROWS - model.lateS / ROW_S;
  const rows = end - from;
  const excess = (place: number) => between(course.slipMps, place) - aimAt(model.aim, between(course.speedMps, place));
  const over = excess(at);
  return rows * ROW_S * rateAt(model, over) - model.nmPerMps * (over - excess(at - rows));
}

/** How far slip was above the allowed level when its answer was decided, in standard deviations. It had only just passed the level. */
function onsetResiduals(model: ControlModel, courses: readonly ControlCourse[], out: Float64Array, from: number): void {
  let row = from;
  for (const { slipMps, speedMps, onsets } of courses) {
    for (const onset of onsets) {
      // Between two looks it can have passed at any time.
      const at = onset - (model.lateS + model.everyS / 2) / ROW_S;
      const slip = between(slipMps, at);
      const perRow = Math.abs(slip - between(slipMps, at - 1));
      const sigma = LEAST_ONSET_SIGMA_MPS + perRow * (FRAME_AGE_ROWS + (0.3 * model.everyS) / ROW_S);
      const residual = (aimAt(model.aim, between(speedMps, at)) - slip) / sigma;
      out[row] = Number.isFinite(residual) ? huber(residual) : 0;
      row += 1;
    }
  }
}

/** Changes that no such control makes must not bend the fit: beyond two sigma the cost grows linearly. */
const huber = (r: number) => (Math.abs(r) <= HUBER ? r : Math.sign(r) * Math.sqrt(HUBER * (2 * Math.abs(r) - HUBER)));

interface Found {
  readonly x: Float64Array;
  readonly cost: number;
  readonly form: Form;
  readonly open: ControlFit["open"];
}

interface Data {
  readonly courses: readonly ControlCourse[];
  readonly changes: readonly CommandChange[];
  readonly sigmaNm: number;
}

function refine({ courses, changes, sigmaNm }: Data, form: Form, start: ArrayLike<number>, maxIterations: number): Found {
  const onsets = courses.reduce((sum, course) => sum + course.onsets.length, 0);
  const rows = changes.length + USUAL.length + onsets;
  const residualsOf = (x: ArrayLike<number>, out: Float64Array) => {
    const model = modelOf(x, form);
    changes.forEach((change, i) => {
      out[i] = huber((change.nm - modelled(model, change)) / sigmaNm);
    });
    USUAL.forEach(({ middle, sigma }, k) => {
      out[changes.length + k] = -(x[k] - middle) / sigma;
    });
    onsetResiduals(model, courses, out, changes.length + USUAL.length);
  };
  const moved = new Float64Array(rows);
  const { parameters, residualSumOfSquares, inverseGram } = nonlinearLeastSquares({
    start: Array.from(start),
    rows,
    maxIterations,
    tolerance: 1e-3,
    evaluate(x, residuals, derivatives) {
      residualsOf(x, residuals);
      derivatives.forEach((column, k) => {
        const step = k === LATE ? 0.001 : 0.01;
        const there = Float64Array.from(x);
        there[k] += step;
        residualsOf(there, moved);
        for (let i = 0; i < rows; i += 1) column[i] = (residuals[i] - moved[i]) / step;
      });
    },
  });
  const sigma = (k: number) => Math.sqrt(inverseGram[k * (LATE + 1) + k]);
  return { x: parameters, cost: residualSumOfSquares, form, open: [sigma(2), sigma(3), sigma(4), sigma(5)] };
}

/** Harder than a straight line gives, but limited in rate: a control that switches between taking away and giving back. */
const switching = (start: readonly number[]) => [
  ...start.slice(0, 3),
  start[3] + 1,
  Math.log(FREELY_NM_PER_S),
  Math.log(SLOWLY_NM_PER_S),
  start[LATE],
];

/** Fits the control of these runs; `everyS`: time between its looks, 0 where each frame of the bus brings a new command. */
export function fitControl(courses: readonly ControlCourse[], everyS: number): ControlFit | null {
  const rows = Math.max(1, Math.round(everyS / ROW_S));
  const all = changesOf(courses, rows);
  const leastNm = leastCommand(courses);
  const changes = all.filter((change) => !standsLowest(change, leastNm));
  if (changes.length < LEAST_CHANGES) return null;
  const guesses = LATE_ROWS.map((late) => guess(changes, late));
  const left = Math.min(...guesses.map((one) => one.left));
  const data: Data = { courses, changes, sigmaNm: Math.max(0.5, Math.sqrt(left / changes.length)) };
  // Straight least squares knows lateness badly: the likeliest early, middling and late one are all tried.
  const likeliest = (these: typeof guesses) => these.reduce((least, one) => (one.left < least.left ? one : least)).start;
  const starts = PARTS.map(([from, to]) => likeliest(guesses.slice(from, to))).flatMap((start) => {
    // Where the larger of the two counts, the line over speed tells nothing of what is allowed standing still.
    const larger = [Math.max(start[0], Math.log(USUAL_STANDING_MPS)), ...start.slice(1)];
    return [
      ...[start, switching(start)].map((from) => ({ from, form: { added: true, everyS } })),
      ...[larger, switching(larger)].map((from) => ({ from, form: { added: false, everyS } })),
    ];
  });
  const [best] = starts.map(({ from, form }) => refine(data, form, from, ITERATIONS)).sort((a, b) => a.cost - b.cost);
  const model = modelOf(best.x, best.form);
  let [off, whole] = [0, 0];
  for (const change of changes) {
    off += (change.nm - modelled(model, change)) ** 2;
    whole += change.nm ** 2;
  }
  // Slip was too high but torque stayed at its minimum: that is a floor.
  const stood = all.filter((change) => standsLowest(change, leastNm) && modelled(model, change) < -FLOOR_NM).length;
  return {
    model: { ...model, floorNm: stood >= LEAST_FLOOR_ROWS ? leastNm : 0 },
    explained: whole > 0 ? Math.max(0, 1 - off / whole) : 0,
    open: best.open,
    without: withoutEach(data, best),
  };
}

function withoutEach({ courses, changes, sigmaNm }: Data, { x, form }: Found): ControlModel[] {
  if (courses.length < 2) return [];
  // Dealt out in driving order, so that no part is one day's.
  const part = new Map(courses.map((course, i) => [course, i % MOST_PARTS]));
  return courses.slice(0, MOST_PARTS).map((_, left) => {
    const rest = {
      courses: courses.filter((course) => part.get(course) !== left),
      changes: changes.filter(({ course }) => part.get(course) !== left),
      sigmaNm,
    };
    return rest.changes.length < LEAST_CHANGES ? modelOf(x, form) : modelOf(refine(rest, form, x, AGAIN_ITERATIONS).x, form);
  });
}
