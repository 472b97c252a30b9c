/**
 * One typical print a group: the run nearest to its group's median, up to the gate, on the day's scales. A run without a print shows an
 * empty line.
 */
import type { CompareView, TypicalRun } from "../../../shared/contract/judge-views.ts";
import type { RunRow } from "../../../shared/contract/contract.ts";
import { apart } from "../../../shared/judge/wording.ts";
import { createChartTools } from "../../screen/chart-tools.ts";
import { el } from "../../screen/dom.ts";
import type { Frame } from "../../screen/page.ts";
import { units } from "../../screen/units.ts";
import { quantity } from "../../screen/format.ts";
import { paintGroupMark } from "../../../shared/draw/group-mark.ts";
import type { Palette, Surface } from "../../../shared/draw/pen.ts";
import { readPalette, surface } from "../../draw/palette.ts";
import { printData } from "../../../shared/draw/print-data.ts";
import { printTable } from "../../draw/print-table.ts";
import { type SeamScales, seamColumns } from "../../../shared/draw/seam-columns.ts";
import { DESK_WEIGHTS, paintSeam } from "../../../shared/draw/seam-painter.ts";

const MARK_ROOM = 26;

function words({ run, seconds, secondsAbove10Percent, heldShare }: TypicalRun, name: string): readonly [string, string] {
  const held = heldShare === null || heldShare < 0.005 ? "" : `, ${quantity(heldShare * 100, "%")} held back`;
  return [`Run ${run}, ${name}, ${quantity(seconds, "s", 2)}`, `${quantity(secondsAbove10Percent, "s", 1)} above 10\u00a0% slip${held}`];
}

/** One group's print up to its gate. */
interface TypicalPrint {
  readonly mark: number;
  readonly row: RunRow | undefined;
  readonly toS: number;
  readonly axisS: number;
  readonly scales: SeamScales;
}

function paintPrint({ pen, width, height }: Surface, { mark, row, toS, axisS, scales }: TypicalPrint, palette: Palette): void {
  const y = Math.round(height * 0.62);
  const place = { x: MARK_ROOM, y, width: width - MARK_ROOM - 8, up: y - 12, down: height - y - 12 };
  const post = MARK_ROOM + (toS / axisS) * place.width;
  pen.fillStyle = palette.ink;
  pen.fillRect(MARK_ROOM, y - 1, width - MARK_ROOM, 2);
  if (row !== undefined) {
    const data = printData(row.print);
    const upTo = { ...data, timeS: Array.from(data.timeS).filter((t) => t <= toS) };
    const columns = seamColumns(upTo, 0, axisS, Math.floor(place.width));
    paintSeam(pen, { place, columns, scales, weights: DESK_WEIGHTS, taken: [[post - 4, post + 5]] }, palette);
  }
  pen.fillStyle = palette.sheet;
  pen.fillRect(post - 4, y - 28, 9, 56);
  pen.fillStyle = palette.ink;
  pen.fillRect(post - 1, y - 28, 3, 56);
  paintGroupMark(pen, mark, { x: 10, y, radius: 8 }, palette);
}

function key(paint: "slip" | "held", word: string): { element: HTMLElement; canvas: HTMLCanvasElement; paint: "slip" | "held" } {
  const canvas = el("canvas", { class: "swatch", "aria-hidden": "true" });
  return { element: el("span", { class: "legend" }, canvas, word), canvas, paint };
}

interface ShownPrints {
  readonly rows: readonly RunRow[];
  readonly labels: readonly string[];
  /** The marks of these labels. */
  readonly marks: readonly number[];
  readonly scales: SeamScales;
}

export interface TypicalPrints {
  readonly element: HTMLElement;
  show(view: CompareView, shown: ShownPrints): void;
}

const SAVED = { width: 900, each: 240, words: 40, px: 20 } as const;

/** `title`: the comparison in words. */
export function createTypicalPrints(frame: Pick<Frame, "announce" | "fail">, title: () => string): TypicalPrints {
  const keys = [key("slip", "slip"), key("held", "held back")];
  const list = el("div", { class: "typical" });
  let prints: { readonly print: TypicalPrint; readonly words: string }[] = [];
  const tools = createChartTools(frame, "slip and torque held back", {
    name: () => "typical-prints",
    title: () => `${title()} Typical prints: slip above the line, torque held back below it`,
    picture: () =>
      prints.length === 0
        ? null
        : {
            width: SAVED.width,
            height: SAVED.each * prints.length,
            paint({ pen }, palette) {
              for (const [i, { print, words: text }] of prints.entries()) {
                if (i > 0) pen.translate(0, SAVED.each);
                paintPrint({ pen, width: SAVED.width, height: SAVED.each - SAVED.words }, print, palette);
                pen.font = `500 ${SAVED.px}px "IBM Plex Sans"`;
                pen.textAlign = "left";
                pen.textBaseline = "middle";
                pen.fillStyle = palette.ink;
                pen.fillText(text, 0, SAVED.each - SAVED.words / 2);
              }
            },
          },
    table: () =>
      prints.length === 0
        ? null
        : printTable(
            prints.flatMap(({ print }) => print.row ?? []),
            units(),
          ),
  });
  return {
    element: el(
      "section",
      { class: "prints" },
      el(
        "div",
        { class: "figure-head" },
        el("h2", {}, "Slip and torque held back"),
        el("span", { class: "legends" }, ...keys.map(({ element }) => element), tools.element),
      ),
      list,
    ),
    show(view, { rows, labels: shownLabels, marks, scales }) {
      const shown = shownLabels.flatMap((label) => view.typical.filter((run) => run.group === label));
      const names = apart(shownLabels);
      const axisS = Math.max(1, ...shown.map((run) => run.seconds)) * 1.04;
      const figures = shown.map((run) => {
        const canvas = el("canvas", { "aria-hidden": "true" });
        const [first, second] = words(run, names[shownLabels.indexOf(run.group)] ?? run.group);
        return { run, canvas, element: el("figure", {}, canvas, el("figcaption", {}, first, el("br"), second)) };
      });
      prints = [];
      list.replaceChildren(...figures.map(({ element }) => element));
      for (const { run, canvas } of figures) {
        const drawn = surface(canvas);
        const row = rows.find((known) => known.id === run.run);
        const at = shownLabels.indexOf(run.group);
        const print = { mark: marks[at] ?? -1, row, toS: run.seconds, axisS, scales };
        prints.push({ print, words: words(run, names[at] ?? run.group).join(", ") });
        if (drawn !== null) paintPrint(drawn, print, readPalette());
      }
      const palette = readPalette();
      for (const { canvas, paint } of keys) {
        const drawn = surface(canvas);
        if (drawn === null) continue;
        drawn.pen.fillStyle = paint === "slip" ? palette.slip : { colour: palette.held, bar: 3 };
        drawn.pen.fillRect(0, 0, drawn.width, drawn.height);
        drawn.pen.strokeStyle = paint === "slip" ? palette.slip : palette.held;
        drawn.pen.lineWidth = 3;
        drawn.pen.strokeRect(0, 0, drawn.width, drawn.height);
      }
    },
  };
}

/** The strip "in the order driven" as a line for people who cannot see it. */
export const spokenRun = (id: number, label: string, seconds: number, aside: boolean) =>
  `Run ${id}, ${label}, ${quantity(seconds, "s", 2)}${aside ? ", set aside" : ""}`;
