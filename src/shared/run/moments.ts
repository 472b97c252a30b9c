/** What people marked and noted while driving, run by run. Each belongs to the run nearest in time, so none is lost; without a run there is none to tell it of. Pure. */
import type { Mark } from "../launch/mark.ts";

/** A mark, or with a text a note. */
export interface Moment {
  /** Seconds from movement; negative before it. */
  readonly atS: number;
  /** Empty for a mark. */
  readonly text: string;
}

/** Seconds on the recording's base. */
export interface RunWindow {
  readonly uid: string;
  readonly movementS: number;
  readonly windowFromS: number;
  readonly windowToS: number;
}

const away = (tS: number, { windowFromS, windowToS }: RunWindow) => Math.max(windowFromS - tS, 0, tS - windowToS);

/** By the run's uid, in order of time. `runs` and `marks` are those of one recording. */
export function momentsOfRuns(runs: readonly RunWindow[], marks: readonly Mark[]): Map<string, Moment[]> {
  const found = new Map<string, Moment[]>(runs.map(({ uid }) => [uid, []]));
  const [first] = runs;
  if (first === undefined) return found;
  for (const { kind, tS, text } of [...marks].sort((a, b) => a.tS - b.tS)) {
    if (kind !== "note") continue;
    const run = runs.reduce((nearest, other) => (away(tS, other) < away(tS, nearest) ? other : nearest), first);
    found.get(run.uid)?.push({ atS: tS - run.movementS, text });
  }
  return found;
}

/** "at 2.50 s", "30.00 s before the start". */
export const momentTime = ({ atS }: Moment): string => (atS < 0 ? `${(-atS).toFixed(2)} s before the start` : `at ${atS.toFixed(2)} s`);

/** "Note at 2.50 s: wheel hop", "Marked at 2.50 s". */
export const momentWords = (moment: Moment): string =>
  moment.text === "" ? `Marked ${momentTime(moment)}` : `Note ${momentTime(moment)}: ${moment.text}`;

/** Texts by row of a run's samples, the earliest row they may stand in first; what lies outside of the rows stands in the nearest, with its time. */
export function momentCells(timeS: ArrayLike<number>, moments: readonly Moment[], firstRow = 0): Map<number, string> {
  const cells = new Map<number, string>();
  const last = timeS.length - 1;
  for (const moment of moments) {
    let row = firstRow;
    while (row < last && Math.abs(timeS[row + 1] - moment.atS) <= Math.abs(timeS[row] - moment.atS)) row += 1;
    const inside = moment.atS >= timeS[firstRow] && moment.atS <= timeS[last];
    const text = `${inside ? "" : `${momentTime(moment)}: `}${moment.text === "" ? "mark" : moment.text}`;
    const before = cells.get(row);
    cells.set(row, before === undefined ? text : `${before}; ${text}`);
  }
  return cells;
}
