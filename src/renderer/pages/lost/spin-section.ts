/**
 * How early spin would have been noticed, and what a control that looks more or less often would have made of it: charts that can be saved, beside a
 * sentence a way. Asked for only when it is opened, as the whole drive is replayed. What cannot be told says why.
 */
import type { RequestArgument } from "../../../shared/contract/contract.ts";
import type { SpinView } from "../../../shared/contract/tune-views.ts";
import { paintPoints } from "../../../shared/draw/point-painter.ts";
import { alarmsChart, looksChart, missedChart, noticedChart, type PointChart, pointWords } from "../../../shared/draw/spin-charts.ts";
import { noticeSentence, SPIN_LEAD } from "../../../shared/tune/spin-words.ts";
import { createHouseChart } from "../../figures/house-chart.ts";
import { pointChart } from "../../figures/point-chart.ts";
import { createChartTools } from "../../screen/chart-tools.ts";
import { el, setText } from "../../screen/dom.ts";
import { gateName } from "../../screen/format.ts";
import { keyButton } from "../../screen/key-hints.ts";
import type { Frame } from "../../screen/page.ts";

export interface SpinSection {
  readonly element: HTMLElement;
  /** Opens or closes it. */
  turn(): void;
  /** Another group or gate, or other runs, are looked at: what is open is asked for anew. */
  about(asked: RequestArgument<"tune.spin">): void;
}

const SAVED = { width: 900, height: 420, px: 20 } as const;

interface PointFigure {
  readonly element: HTMLElement;
  show(chart: PointChart | null): void;
}

function createPointFigure(frame: Frame, file: string): PointFigure {
  let now: PointChart | null = null;
  const heading = el("h3");
  const chart = createHouseChart("points");
  const tools = createChartTools(frame, file.replaceAll("-", " "), {
    name: () => file,
    title: () => `${frame.car()}: ${now?.title ?? ""}`,
    picture: () => {
      const shown = now;
      if (shown === null) return null;
      return { width: SAVED.width, height: SAVED.height, paint: (surface, palette) => paintPoints(surface, shown, palette, SAVED.px) };
    },
    table: () =>
      now === null
        ? null
        : {
            columns: [{ name: now.placesUnit, unit: "" }, ...now.lines.map(({ name }) => ({ name, unit: now?.unit ?? "" }))],
            rows: now.places.map((place, i) => [place, ...(now?.lines ?? []).map(({ values }) => values[i] ?? null)]),
          },
  });
  const element = el("section", {}, el("div", { class: "figure-head" }, heading, tools.element), chart.element);
  return {
    element,
    show(next) {
      now = next;
      element.hidden = next === null;
      setText(heading, next?.title ?? "");
      chart.show(next === null ? null : pointChart(next), next === null ? "" : pointWords(next));
    },
  };
}

/** The sentences under the charts, the simulation's among them. */
function sentences({ notice, predicted }: SpinView): string[] {
  const looks = predicted === null ? "" : `${predicted.why === null ? predicted.words : `${predicted.words} ${predicted.why}`}`;
  return [SPIN_LEAD, ...notice.ways.map(noticeSentence), ...notice.notes, ...(looks === "" ? [] : [looks])];
}

export function createSpinSection(frame: Frame): SpinSection {
  let asked: RequestArgument<"tune.spin"> = {};
  let open = false;
  const figures = {
    noticed: createPointFigure(frame, "spin-noticed"),
    missed: createPointFigure(frame, "spins-missed"),
    alarms: createPointFigure(frame, "false-alarms"),
    looks: createPointFigure(frame, "looking-rates"),
  };
  const waiting = el("p", {}, "Driving it all again.");
  const words = el("ul", { class: "small" });
  const grid = el("div", { class: "spin-charts" }, ...Object.values(figures).map(({ element }) => element));
  const body = el("div", { hidden: true }, waiting, grid, words);
  const turner = keyButton(frame.keys, "When spin would be noticed", "lost.spin", turn);

  function show(view: SpinView): void {
    // First: a chart that is drawn where nothing is shown has no size.
    grid.hidden = words.hidden = false;
    const { limits } = view.notice;
    const looks = view.predicted?.looks ?? [];
    figures.noticed.show(noticedChart(limits));
    figures.missed.show(missedChart(limits));
    figures.alarms.show(alarmsChart(limits));
    figures.looks.show(looks.length === 0 ? null : looksChart(looks, gateName(view.predicted?.gate ?? "")));
    words.replaceChildren(...sentences(view).map((one) => el("li", {}, one)));
  }

  async function load(): Promise<void> {
    const question = asked;
    // What stands there is of another group or gate.
    grid.hidden = words.hidden = true;
    waiting.hidden = false;
    try {
      const view = await frame.bridge.request("tune.spin", question);
      if (question === asked && open) show(view);
    } finally {
      if (question === asked) waiting.hidden = true;
    }
  }

  function turn(): void {
    open = !open;
    body.hidden = !open;
    turner.setAttribute("aria-expanded", String(open));
    if (!open) return;
    load()
      .then(() => body.scrollIntoView({ block: "nearest" }))
      .catch(frame.fail);
  }

  turner.setAttribute("aria-expanded", "false");
  return {
    element: el("section", { class: "ruled spin-noticed" }, el("div", { class: "buttons small" }, turner), body),
    turn,
    about(next) {
      if (JSON.stringify(next) === JSON.stringify(asked)) return;
      asked = next;
      if (open) load().catch(frame.fail);
    },
  };
}
