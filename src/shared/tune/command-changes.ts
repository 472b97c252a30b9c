/** How the command of a control changed from one look to the next while it held torque back. A control model is fitted to these changes. */
import { STEP_NM } from "./torque-steps.ts";
import type { HeldSpan } from "./torque-path.ts";

/** Columns of one run, a row each 10 ms, and the spans in which torque was held back. */
export interface ControlCourse {
  readonly slipMps: Float64Array;
  readonly speedMps: Float64Array;
  readonly commandNm: Float64Array;
  readonly heldNm: Float64Array;
  readonly spans: readonly HeldSpan[];
  /** Where torque began to fall in each span, in rows with a fraction, on true time. */
  readonly onsets: readonly number[];
}

/** A change of the command between two looks: the rows in which it first shows. */
export interface CommandChange {
  readonly course: ControlCourse;
  readonly from: number;
  readonly end: number;
  readonly nm: number;
}

/** A command this near its minimum counts as being at its minimum. */
const FLOOR_SHARE = 1.02;

/** Value of a column between rows; before the first row its first value, after the last its last. */
export function between(column: Float64Array, place: number): number {
  if (place <= 0) return column[0];
  const last = column.length - 1;
  if (place >= last) return column[last];
  const i = Math.floor(place);
  return column[i] + (place - i) * (column[i + 1] - column[i]);
}

/** Least command while torque was held back, Nm; Infinity where no torque was. */
export function leastCommand(courses: readonly ControlCourse[]): number {
  let least = Number.POSITIVE_INFINITY;
  for (const { spans, commandNm } of courses)
    for (const { fromRow, toRow } of spans) for (let i = fromRow; i < toRow; i += 1) if (commandNm[i] < least) least = commandNm[i];
  return least;
}

/** Whether the command stayed at its minimum: the control never goes below it, or needed no less. */
export const standsLowest = ({ course, end, nm }: CommandChange, leastNm: number) =>
  Math.abs(nm) <= STEP_NM && course.commandNm[end] <= FLOOR_SHARE * leastNm + STEP_NM;

/** `rows`: rows between two looks; 1 where each frame of the bus brings a new command. */
export function changesOf(courses: readonly ControlCourse[], rows: number): CommandChange[] {
  const changes: CommandChange[] = [];
  for (const course of courses) {
    const { commandNm, heldNm, slipMps, spans } = course;
    const free = (i: number) => heldNm[i] > 0 && commandNm[i] > 1 && Number.isFinite(slipMps[i]);
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
