/**
 * Lost time as a figure: bars, the seconds of each cause in large numbers, and the same along the speed axis; each chart can be saved. The
 * page says why something is unknown.
 */
import { type LossBar, paintLossBars } from "../../shared/draw/loss-bars.ts";
import { bandEnds, CAUSE_WORDS, secondsByCause } from "../../shared/tune/loss-words.ts";
import { LOSS_CAUSES, type LossCause } from "../../shared/tune/losses.ts";
import type { Picture } from "../draw/chart-file.ts";
import type { ChartTable } from "../draw/chart-table.ts";
import { createChartTools } from "../screen/chart-tools.ts";
import { el } from "../screen/dom.ts";
import { number, plusMinus } from "../screen/format.ts";
import type { Frame } from "../screen/page.ts";
import { units } from "../screen/units.ts";
import { createHouseChart } from "./house-chart.ts";
import { lossBars, lossColumns } from "./loss-charts.ts";

interface CauseSeconds {
  readonly cause: LossCause;
  readonly seconds: number;
  /** Null for a single run: only its group has an interval. */
  readonly plusMinus95: number | null;
}

export interface ShownLosses {
  readonly bars: readonly LossBar[];
  readonly selected: number;
  readonly losses: readonly CauseSeconds[];
  readonly bands: readonly { readonly fromKmh: number; readonly toKmh: number; readonly losses: readonly CauseSeconds[] }[];
  /** Whether each figure is a lower bound of what was lost. */
  readonly atLeast: boolean;
}

export interface LossFigure {
  /** One bar a group, and the seconds of each cause. */
  readonly sums: HTMLElement;
  readonly bySpeed: HTMLElement;
  show(losses: ShownLosses | null): void;
}

const SAVED = { width: 900, each: 60, foot: 70, px: 20 } as const;

const bandName = (band: ShownLosses["bands"][number]) => bandEnds(band, units()).join("\u2013");

function pictureOf(bars: readonly LossBar[]): Picture | null {
  if (bars.length === 0) return null;
  const height = SAVED.each * bars.length + SAVED.foot;
  return { width: SAVED.width, height, paint: (surface, palette) => paintLossBars(surface, bars, palette, SAVED.px) };
}

function tableOf(names: string, rows: readonly LossBar[]): ChartTable {
  return {
    columns: [{ name: names, unit: "" }, ...LOSS_CAUSES.map((cause) => ({ name: CAUSE_WORDS[cause], unit: "s" }))],
    rows: rows.map(({ name, seconds }) => [name, ...LOSS_CAUSES.map((cause) => seconds[cause])]),
  };
}

const spoken = (rows: readonly LossBar[]) =>
  rows
    .map(
      ({ name, seconds }) =>
        `${name}: ${LOSS_CAUSES.map((cause) => `${CAUSE_WORDS[cause]} ${number(seconds[cause], 2)}`).join(", ")} seconds`,
    )
    .join("; ");

function causeList(losses: readonly CauseSeconds[], atLeast: boolean): HTMLElement[] {
  return losses.map(({ cause, seconds, plusMinus95 }) =>
    el(
      "div",
      { class: "cause" },
      el("dt", {}, el("span", { class: `swatch ${cause}`, "aria-hidden": "true" }), CAUSE_WORDS[cause]),
      el(
        "dd",
        {},
        el("b", {}, `${atLeast ? "\u2265\u00a0" : ""}${number(seconds, 2)}`),
        "\u00a0s ",
        el("span", { class: "quiet" }, plusMinus(plusMinus95, 2)),
      ),
    ),
  );
}

/** `title`: the title of saved charts. */
export function createLossFigure(frame: Pick<Frame, "announce" | "fail">, title: () => string): LossFigure {
  let shown: ShownLosses | null = null;
  const bars = createHouseChart("loss-bars");
  const columns = createHouseChart("loss-columns");
  const causes = el("dl", { class: "causes" });
  const rows = () => (shown?.bands ?? []).map((band) => ({ name: bandName(band), seconds: secondsByCause(band.losses) }));
  const barTools = createChartTools(frame, "the time lost", {
    name: () => "time-lost",
    title: () => `${title()}`,
    picture: () => pictureOf(shown?.bars ?? []),
    table: () => (shown === null ? null : tableOf("Group", shown.bars)),
  });
  const columnTools = createChartTools(frame, "the time lost by speed", {
    name: () => "time-lost-by-speed",
    title: () => `${title()} By ground speed, ${units().speed}`,
    picture: () => pictureOf(rows()),
    table: () => (shown === null ? null : tableOf(`Ground speed, ${units().speed}`, rows())),
  });
  const sums = el(
    "section",
    { class: "loss-sums" },
    el("div", { class: "figure-head" }, el("h2", {}, "Time lost"), barTools.element),
    bars.element,
    causes,
  );
  const bySpeed = el(
    "section",
    { class: "loss-by-speed" },
    el("div", { class: "figure-head" }, el("h2", {}, `By speed, from ${units().speed}`), columnTools.element),
    columns.element,
  );
  return {
    sums,
    bySpeed,
    show(losses) {
      shown = losses;
      // An empty chart with its Save would promise a figure.
      for (const part of [sums, bySpeed]) part.hidden = losses === null;
      if (losses === null) {
        bars.show(null, "");
        columns.show(null, "");
        return;
      }
      bars.element.style.setProperty("--bars", String(losses.bars.length));
      causes.replaceChildren(...causeList(losses.losses, losses.atLeast));
      bars.show(lossBars(losses.bars, losses.selected), `Time lost. ${spoken(losses.bars)}`);
      const bands = rows();
      columns.show(
        lossColumns(losses.bands.map((band, i) => ({ ...(bands[i] as LossBar), name: bandEnds(band, units())[0] }))),
        `Time lost by ground speed in ${units().speedAloud}. ${spoken(bands)}`,
      );
    },
  };
}
