/**
 * The two strips of a comparison as charts that can be saved and copied: every value with the gain, and the values in driving order with
 * the drift.
 */
import type { Comparison } from "../../shared/judge/judged-run.ts";
import type { ChartSource } from "../screen/chart-tools.ts";
import type { ChartTable } from "../draw/chart-table.ts";
import { paintOrderStrip } from "../../shared/draw/order-strip.ts";
import type { ShownDifference, ShownRun } from "../../shared/draw/shown-difference.ts";
import { paintValueStrip } from "../../shared/draw/value-strip.ts";

/** What the strips show now. */
export interface StripsNow {
  readonly pair: Comparison;
  /** Marks of the first and the second group. */
  readonly marks: readonly [number, number];
  readonly runs: readonly ShownRun[];
  readonly difference: ShownDifference | null;
}

const SAVED = { width: 900, valuesHeight: 260, orderHeight: 260, px: 20 } as const;
const labelOf = ({ a, b }: Comparison, run: ShownRun) => (run.group === 0 ? a.label : b.label);
const counted = (run: ShownRun) => (run.aside ? "set aside" : "counted");

function valueTable({ pair, runs, difference }: StripsNow): ChartTable {
  const differs = (what: string, value: number | undefined) => [what, `${pair.b.label} minus ${pair.a.label}`, null, value, ""];
  return {
    columns: [
      { name: "What", unit: "" },
      { name: "Label", unit: "" },
      { name: "Run", unit: "" },
      { name: `${pair.gate} from ${pair.start}`, unit: "s" },
      { name: "Counted", unit: "" },
    ],
    rows: [
      ...runs.map((run) => ["run", labelOf(pair, run), run.id, run.seconds, counted(run)]),
      ...(difference === null
        ? []
        : [
            differs("difference", difference.shift),
            differs(`difference, low end at ${(difference.coverage * 100).toFixed(1)} %`, difference.low),
            differs("difference, high end", difference.high),
          ]),
    ],
  };
}

function orderTable({ pair, runs }: StripsNow): ChartTable {
  return {
    columns: [
      { name: "Place in the order driven", unit: "" },
      { name: "Run", unit: "" },
      { name: "Label", unit: "" },
      { name: `${pair.gate} from ${pair.start}`, unit: "s" },
      { name: "Drift", unit: "s a run" },
      { name: "Counted", unit: "" },
    ],
    rows: runs.map((run, place) => [place + 1, run.id, labelOf(pair, run), run.seconds, pair.drift?.perRun, counted(run)]),
  };
}

/** `now`: null while nothing is compared. */
export function stripCharts(
  now: () => StripsNow | null,
  title: () => string,
): { readonly values: ChartSource; readonly order: ChartSource } {
  const shown = <T>(make: (strips: StripsNow) => T): T | null => {
    const strips = now();
    return strips === null ? null : make(strips);
  };
  return {
    values: {
      name: () => "every-value",
      title,
      picture: () =>
        shown((strips) => ({
          width: SAVED.width,
          height: SAVED.valuesHeight,
          paint: (surface, palette) => void paintValueStrip(surface, { ...strips, selected: null }, palette, SAVED.px),
        })),
      table: () => shown(valueTable),
    },
    order: {
      name: () => "order-driven",
      title: () => `${title()} In the order driven`,
      picture: () =>
        shown((strips) => ({
          width: SAVED.width,
          height: SAVED.orderHeight,
          paint: (surface, palette) => void paintOrderStrip(surface, { ...strips, selected: null }, palette, SAVED.px),
        })),
      table: () => shown(orderTable),
    },
  };
}
