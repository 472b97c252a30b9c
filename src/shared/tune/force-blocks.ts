/**
 * Driving as means over short blocks: acceleration, torque, spin, air speed. A unit shares one unknown slope of the road: a launch, or half
 * a minute of gentle driving. Blocks with an unknown value, braking or a jolt are left out; a unit may be empty.
 */
import { ROW_S } from "./tune-samples.ts";
import type { AlignedRecording } from "../align/aligned-recording.ts";
import type { Calibration } from "../align/calibration.ts";
import { buildDriveGrid, GRID_STEP_S, resample, smooth } from "../align/drive-grid.ts";
import type { SetUp } from "../setup/set-up.ts";
import { gearChangedAt } from "./gear-change.ts";
import type { TuneRun } from "./tune-run.ts";

/** Columns of one length. */
export interface ForceBlocks {
  readonly accelerationMps2: Float64Array;
  /** Delivered, at the motor shaft. */
  readonly torqueNm: Float64Array;
  /** Of the driven axle. */
  readonly spinRadps2: Float64Array;
  readonly speedMps: Float64Array;
}

/** Longer than shafts swing under a control that oscillates: with half of this, axle inertia came out 10 % too small (test/claims). */
const BLOCK_ROWS = 20;
const LEAST_SPEED_MPS = 3;
/** Blocks in which torque changes by a larger share of its maximum are left out: delays of bus and shafts then matter too much. */
const MOST_CHANGE = 0.1;
/** Coasting counts, regeneration does not: its losses have the opposite sign. */
const LEAST_GENTLE_NM = -1;
const GENTLE_BLOCK_S = 1;
const GENTLE_UNIT_S = 30;

interface Columns {
  readonly a: number[];
  readonly torque: number[];
  readonly spin: number[];
  readonly v: number[];
}

const empty = (): Columns => ({ a: [], torque: [], spin: [], v: [] });
const packed = ({ a, torque, spin, v }: Columns): ForceBlocks => ({
  accelerationMps2: Float64Array.from(a),
  torqueNm: Float64Array.from(torque),
  spinRadps2: Float64Array.from(spin),
  speedMps: Float64Array.from(v),
});

function meanOf(column: Float64Array, from: number, count: number): number {
  let sum = 0;
  for (let i = from; i < from + count; i += 1) sum += column[i];
  return sum / count;
}

/** Blocks of a launch, 0.2 s each; null without torque or motor speed. */
export function launchBlocks(run: TuneRun): ForceBlocks | null {
  const { accelerationMps2, deliveredNm, wheelSpeedMps, groundSpeedMps } = run.samples;
  const radiusM = run.calibration?.rollingRadiusM.value ?? run.car.rollingRadiusM ?? Number.NaN;
  if (deliveredNm === null || !(radiusM > 0)) return null;
  let mostNm = 0;
  for (let i = run.startIndex; i < run.endIndex; i += 1) if (deliveredNm[i] > mostNm) mostNm = deliveredNm[i];
  const out = empty();
  const end = gearChangedAt(run) ?? run.endIndex;
  for (let i = run.startIndex; i + BLOCK_ROWS + 1 < end; i += BLOCK_ROWS) {
    const v = meanOf(groundSpeedMps, i, BLOCK_ROWS);
    // A value held from the last frame is on average half a frame old.
    const torque = (meanOf(deliveredNm, i, BLOCK_ROWS) + meanOf(deliveredNm, i + 1, BLOCK_ROWS)) / 2;
    const spin = (wheelSpeedMps[i + BLOCK_ROWS] - wheelSpeedMps[i]) / (BLOCK_ROWS * ROW_S) / radiusM;
    const a = meanOf(accelerationMps2, i, BLOCK_ROWS);
    const calm = Math.abs(deliveredNm[i + BLOCK_ROWS] - deliveredNm[i]) < MOST_CHANGE * mostNm;
    if (!(calm && v > LEAST_SPEED_MPS && Number.isFinite(a + torque + spin))) continue;
    out.a.push(a);
    out.torque.push(torque);
    out.spin.push(spin);
    out.v.push(v);
  }
  return packed(out);
}

/** Units of a recording's gentle driving by the motor alone, in blocks of a second; empty without torque or motor speed. */
export function gentleBlocks(recording: AlignedRecording, calibration: Calibration, setUp: SetUp): ForceBlocks[] {
  const radiusM = calibration.rollingRadiusM.value;
  const torqueColumn = recording.roles.torqueDelivered;
  const grid = buildDriveGrid(recording, setUp, { radiusM, undriven: calibration.undrivenScales[0]?.value ?? 1 });
  if (grid === null || torqueColumn === undefined || !grid.known.torque || !grid.known.motorSpeed) return [];
  const delivered = smooth(resample(torqueColumn, grid.startS, grid.count));
  const rows = Math.round(GENTLE_BLOCK_S / GRID_STEP_S);
  const speedAt = (i: number) => (grid.spin[i] * radiusM) / (1 + calibration.slipPerNm.value * delivered[i]);
  const units: ForceBlocks[] = [];
  let unit = empty();
  const unitRows = Math.round(GENTLE_UNIT_S / GRID_STEP_S);
  for (let i = 0; i + rows < grid.count; i += rows) {
    if (i % unitRows < rows && unit.a.length > 0) {
      units.push(packed(unit));
      unit = empty();
    }
    let calm = true;
    for (let k = i; k <= i + rows && calm; k += 1)
      calm = grid.gentle[k] === 1 && delivered[k] > LEAST_GENTLE_NM && speedAt(k) > LEAST_SPEED_MPS;
    if (!calm) continue;
    unit.a.push((speedAt(i + rows) - speedAt(i)) / GENTLE_BLOCK_S);
    unit.torque.push(meanOf(delivered, i, rows));
    unit.spin.push((grid.spin[i + rows] - grid.spin[i]) / GENTLE_BLOCK_S);
    unit.v.push((speedAt(i) + speedAt(i + rows)) / 2);
  }
  if (unit.a.length > 0) units.push(packed(unit));
  return units;
}
