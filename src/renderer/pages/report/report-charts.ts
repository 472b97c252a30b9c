/**
 * The report's charts, each to be saved by itself: both strips of every pair and every run's print, by the same painters as on the screens.
 * A book without runs has none.
 */
import type { CompareView } from "../../../shared/contract/judge-views.ts";
import type { RunRow } from "../../../shared/contract/contract.ts";
import type { ChartSource } from "../../screen/chart-tools.ts";
import { number } from "../../screen/format.ts";
import { PRINT_STEP_S } from "../../../shared/run/run-print.ts";
import { printData } from "../../../shared/draw/print-data.ts";
import { printTable } from "../../draw/print-table.ts";
import { MOST_WHOLE } from "../../../shared/report/shown-runs.ts";
import { type SeamScales, seamColumns, slipScaleWords } from "../../../shared/draw/seam-columns.ts";
import { DESK_WEIGHTS, paintSeam } from "../../../shared/draw/seam-painter.ts";
import { markOf } from "../../../shared/draw/group-mark.ts";
import { shownDifference, shownRuns } from "../../../shared/draw/shown-difference.ts";
import { stripCharts } from "../../figures/strip-charts.ts";

export interface NamedChart {
  readonly what: string;
  readonly chart: ChartSource;
}

const SAVED = { width: 900, height: 260, ground: 150, foot: 30, px: 20 } as const;

function printChart(run: RunRow, scales: SeamScales, seconds: number): ChartSource {
  const time = run.seconds === null ? "60 mph not reached" : `${number(run.seconds, 2)} s to 60 mph`;
  return {
    name: () => `print-run-${run.id}`,
    title: () =>
      `Run ${run.id}, ${run.label}: ${time}. Slip to ${slipScaleWords(scales)} above the line, held back to ${scales.heldNm} Nm below`,
    picture: () => ({
      width: SAVED.width,
      height: SAVED.height,
      paint({ pen, width, height }, palette) {
        const place = { x: 0, y: SAVED.ground, width, up: SAVED.ground - 30, down: height - SAVED.ground - SAVED.foot - 20 };
        pen.fillStyle = palette.ink;
        pen.fillRect(0, SAVED.ground - 1, width, 2);
        paintSeam(pen, { place, columns: seamColumns(printData(run.print), 0, seconds, width), scales, weights: DESK_WEIGHTS }, palette);
        pen.font = `500 ${SAVED.px}px "IBM Plex Sans"`;
        pen.textBaseline = "bottom";
        pen.fillStyle = palette.ink2;
        for (let at = 0; at < seconds; at += 1) {
          pen.textAlign = at === 0 ? "left" : "center";
          pen.fillText(`${at} s`, (at / seconds) * width, height);
        }
      },
    }),
    table: () => (run.print.slipKmh.length === 0 ? null : printTable([run], scales.units)),
  };
}

export interface ChartedBook {
  readonly car: string;
  readonly runs: readonly RunRow[];
  readonly groups: readonly string[];
  readonly scales: SeamScales;
}

export function reportCharts(view: CompareView, { car, runs, groups, scales }: ChartedBook): NamedChart[] {
  const strips = view.pairs.flatMap((pair) => {
    const marks = [markOf(groups, pair.a.label), markOf(groups, pair.b.label)] as const;
    const now = { pair, marks, runs: shownRuns(pair, view.driven), difference: shownDifference(pair, false) };
    const { values, order } = stripCharts(
      () => now,
      () => `${car}: ${pair.headline}. ${pair.verdict}`,
    );
    const which = view.pairs.length < 2 ? "" : `, ${pair.b.label} against ${pair.a.label}`;
    return [
      { what: `Every value${which}`, chart: values },
      { what: `In the order driven${which}`, chart: order },
    ];
  });
  // Of a season the newest: nobody reads a list of hundreds, and Runs saves any run's figure.
  const printed = (view.where.length === 0 ? runs : runs.filter(({ id }) => view.driven.includes(id))).slice(-MOST_WHOLE);
  const seconds = Math.max(3, ...printed.map(({ print }) => print.slipKmh.length * PRINT_STEP_S));
  return [...strips, ...printed.map((run) => ({ what: `Print of run ${run.id}`, chart: printChart(run, scales, seconds) }))];
}
