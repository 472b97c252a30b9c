/** The values at one time of the figure: of the run, of its further line, and of the run underneath at the same place. Unknown is NaN. */
import { ofWord } from "../../../shared/kernel/by-word.ts";
import { columnName, unitWord } from "../../screen/format.ts";
import { units } from "../../screen/units.ts";
import type { RunData } from "./run-data.ts";
import { secondsAhead } from "./run-difference.ts";

export interface CursorReading {
  readonly data: RunData;
  readonly row: number;
  /** The further line below the figure; `under` is the other run's value. */
  readonly line: {
    readonly name: string;
    readonly unit: string;
    readonly digits: number;
    readonly value: number;
    readonly under: number;
  } | null;
  /** `aheadS`: positive where this run is ahead of the other. */
  readonly over: { readonly data: RunData; readonly row: number; readonly aheadS: number } | null;
}

export interface LaidOver {
  readonly data: RunData;
  /** By how much the alignment moved the other run in time. */
  readonly shiftS: number;
  /** The other run's axis, moved by the alignment. */
  readonly axis: Float32Array;
}

/** What an overlay adds to a run's own columns, one value a sample. */
export interface OverlayColumns {
  readonly names: readonly { readonly name: string; readonly unit: string }[];
  readonly columns: readonly Float32Array[];
}

/** The other run's ground speed at the same place of the axis, and the seconds ahead of it. */
export function overlayColumns(data: RunData, axis: Float32Array, over: LaidOver): OverlayColumns {
  const ground = over.data.column("groundSpeedKmh");
  const { id } = over.data.view.run;
  const { endings, speed } = units();
  return {
    names: [
      { name: `run${id}GroundSpeed${endings.speed}`, unit: speed },
      { name: `aheadOfRun${id}S`, unit: "s" },
    ],
    columns: [axis.map((at) => ground[rowBeyond(over.axis, at)] ?? Number.NaN), secondsAhead(data, over.data, over.shiftS)],
  };
}

const DIGITS: Readonly<Record<string, number>> = { "km/h": 1, mph: 1, "m/s": 2, "%": 1, Nm: 0, V: 1, A: 0, "m/s\u00b2": 2 };

const digitsOf = (unit: string) => ofWord(DIGITS, unit) ?? 1;

/** The first row of an axis at or beyond a place; -1 where it never reaches it. */
const rowBeyond = (axis: Float32Array, at: number) => axis.findIndex((value) => value >= at - 1e-6);

/** Seconds ahead are the same for every cursor: kept until another pair is compared. */
export function createReader(): (data: RunData, row: number, at: number, line: string | null, over: LaidOver | null) => CursorReading {
  let known: { readonly of: readonly unknown[]; readonly aheadS: Float32Array } | null = null;
  const aheadOf = (data: RunData, over: LaidOver) => {
    const of = [data, over.data, over.shiftS];
    if (known === null || known.of.some((part, i) => part !== of[i])) known = { of, aheadS: secondsAhead(data, over.data, over.shiftS) };
    return known.aheadS;
  };
  return (data, row, at, line, over) => {
    const value = (run: RunData, where: number) => (line === null || where < 0 ? Number.NaN : run.column(line)[where]);
    const under = over === null ? -1 : rowBeyond(over.axis, at);
    const unit = line === null ? "" : unitWord(data.unit(line));
    return {
      data,
      row,
      line:
        line === null
          ? null
          : {
              name: columnName(line),
              unit,
              digits: digitsOf(unit),
              value: value(data, row),
              under: over === null ? Number.NaN : value(over.data, under),
            },
      over: over === null ? null : { data: over.data, row: under, aheadS: aheadOf(data, over)[row] },
    };
  };
}
