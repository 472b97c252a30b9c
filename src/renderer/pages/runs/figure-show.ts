/**
 * What a run's figure shows: over time or distance, which part, which run underneath, which further line. A distance that is unknown or
 * does not grow is NaN.
 */
import type { HeldMark } from "../../../shared/draw/held-marks.ts";
import type { SeamScales } from "../../../shared/draw/seam-columns.ts";
import { KMH_AND_M } from "../../../shared/kernel/shown-units.ts";
import { columnName, unitWord } from "../../screen/format.ts";
import { units } from "../../screen/units.ts";
import type { LaidOver } from "./cursor-reading.ts";
import type { FurtherLine } from "./further-chart.ts";
import type { FigurePlan } from "./open-seam.ts";
import { alignedAt, sharedGates } from "./overlay-align.ts";
import { type RunData, wholeWindow, type Window } from "./run-data.ts";
import type { AxisUnit } from "./figure-parts.ts";

export interface FigureShow {
  /** The run that others are compared with. */
  readonly reference: RunData | null;
  /** The gate at which two runs are aligned; null at the start. */
  readonly align: string | null;
  readonly scales: SeamScales;
  readonly window: Window;
  readonly byDistance: boolean;
  readonly open: boolean;
  /** Each time its torque was held back, s from movement. */
  readonly marks: readonly HeldMark[];
  /** Column of the further line. */
  readonly line: string | null;
}

export const FIRST_SHOW: FigureShow = {
  reference: null,
  align: null,
  scales: { slipKmh: 25, heldNm: 120, units: KMH_AND_M },
  window: { fromS: 0, toS: 1 },
  byDistance: false,
  open: true,
  marks: [],
  line: null,
};

/** Columns that the figure draws itself, or that are its axes. */
const DRAWN = new Set(["timeS", "groundSpeedKmh", "wheelSpeedKmh", "torqueRequestNm", "torqueDeliveredNm", "tractionControlActive"]);

/** Distance repeats while standing, so only its rising part is an axis; before that it counts as unknown. */
export const axisOf = (run: RunData, { byDistance }: FigureShow): Float32Array =>
  byDistance ? run.column("distanceM").map((d, i) => (run.timeS[i] < 0 ? Number.NaN : d)) : run.timeS;

/** Place of a time on the axis: s, or the length of this screen. */
export const placeOf = (run: RunData, timeS: number, { byDistance }: FigureShow): number =>
  byDistance ? run.column("distanceM")[run.rowAt(Math.max(0, timeS))] : timeS;

export function boundsOf(run: RunData, show: FigureShow): { readonly from: number; readonly to: number } {
  const { fromS, toS } = show.window;
  return show.byDistance ? { from: placeOf(run, fromS, show), to: Math.max(placeOf(run, toS, show), 1) } : { from: fromS, to: toS };
}

export const unitOf = ({ byDistance }: FigureShow): AxisUnit => (byDistance ? units().length : "s");

/** The time at a share of the figure's width, 0 to 1. */
export function timeAt(run: RunData | null, show: FigureShow, share: number): number {
  const { fromS, toS } = show.window;
  if (!show.byDistance || run === null) return fromS + share * (toS - fromS);
  const { from, to } = boundsOf(run, show);
  const row = run.column("distanceM").findIndex((d) => d >= from + share * (to - from));
  return run.timeS[Math.max(0, row)];
}

/** The window moved by a share of its width, and kept inside the run. */
export function panned(run: RunData, { window: { fromS, toS } }: FigureShow, share: number): Window {
  const width = toS - fromS;
  const whole = wholeWindow(run);
  const at = Math.min(Math.max(whole.fromS, fromS + share * width), whole.toS - width);
  return { fromS: at, toS: at + width };
}

/** The run underneath, on an axis moved to where both are aligned; null for one run alone. */
export function laidOver(run: RunData, show: FigureShow): LaidOver | null {
  const { reference, align } = show;
  if (reference === null || reference.view.run.uid === run.view.run.uid) return null;
  const { runS, referenceS } = alignedAt(run, reference, align);
  const shift = placeOf(run, runS, show) - placeOf(reference, referenceS, show);
  const own = axisOf(reference, show);
  return { data: reference, axis: shift === 0 ? own : own.map((at) => at + shift), shiftS: runS - referenceS };
}

export function planOf(run: RunData, show: FigureShow, fontPx: number): FigurePlan {
  const gates = run.view.gates
    .filter((gate) => gate.start === "movement" && gate.seconds !== null)
    .map((gate) => ({ gate: gate.gate, at: placeOf(run, gate.seconds as number, show) }))
    .sort((a, b) => a.at - b.at);
  const moments = run.view.moments.map(({ atS }) => placeOf(run, atS, show));
  const { open, scales } = show;
  const axis = axisOf(run, show);
  const place = (timeS: number) => placeOf(run, timeS, show);
  const marks = show.marks.map(({ row, passedAt, fromAt, toAt }) => ({
    row,
    passedAt: passedAt === null ? null : place(passedAt),
    fromAt: place(fromAt),
    toAt: place(toAt),
  }));
  return {
    data: run,
    reference: laidOver(run, show),
    axis,
    ...boundsOf(run, show),
    unit: unitOf(show),
    open,
    scales,
    fontPx,
    gates,
    moments,
    marks,
  };
}

export function furtherOf(run: RunData, show: FigureShow): FurtherLine | null {
  const { line } = show;
  if (line === null) return null;
  return {
    name: columnName(line),
    unit: unitWord(run.unit(line)),
    axis: axisOf(run, show),
    values: run.column(line),
    ...boundsOf(run, show),
  };
}

/** The further line `step` steps on; "none" lies between the last and the first. */
export function lineAfter(run: RunData | null, { line }: FigureShow, step: number): string | null {
  const names = [null, ...(run?.names ?? []).filter((name) => !DRAWN.has(name))];
  return names.at((names.indexOf(line) + step) % names.length) ?? null;
}

/** The gate at which the runs are aligned, where both passed it. */
export const alignedGate = (run: RunData | null, { reference, align }: FigureShow): string | null =>
  run !== null && reference !== null && align !== null && sharedGates(run, reference).includes(align) ? align : null;

/** The next place to align at: the start, then each gate that both passed. */
export function alignAfter(run: RunData, { reference, align }: FigureShow): string | null {
  if (reference === null) return align;
  const gates = sharedGates(run, reference);
  return gates[align === null ? 0 : gates.indexOf(align) + 1] ?? null;
}
