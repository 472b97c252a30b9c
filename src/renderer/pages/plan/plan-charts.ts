/** The plan's string of slots and the ways of drawing, as charts that can be saved and copied. Without a plan there is nothing to save. */
import type { PlanChoice } from "../../../shared/judge/plan-choices.ts";
import { percent } from "../../../shared/judge/wording.ts";
import type { ChartSource } from "../../screen/chart-tools.ts";
import type { Palette, Surface } from "../../../shared/draw/pen.ts";
import { choiceName, reachWords } from "./plan-choice-list.ts";
import { paintPlanString, type StringShow } from "./plan-string.ts";

const SAVED = { width: 1000, stringHeight: 190, row: 40, px: 20 } as const;

export function stringChart(now: () => StringShow | null, title: () => string): ChartSource {
  return {
    name: () => "plan",
    title,
    picture() {
      const show = now();
      if (show === null) return null;
      return {
        width: SAVED.width,
        height: SAVED.stringHeight,
        paint: (surface, palette) => paintPlanString(surface, show, palette, SAVED.px),
      };
    },
    table() {
      const show = now();
      if (show === null) return null;
      return {
        columns: [
          { name: "Slot", unit: "" },
          { name: "Group", unit: "" },
          { name: "Direction", unit: "" },
          { name: "Run", unit: "" },
          { name: `${show.plan.request.gates[0] ?? "Time"}`, unit: "s" },
        ],
        rows: show.plan.slots.map(({ slot, group, direction }) => [slot + 1, group, direction, show.filled[slot], show.seconds[slot]]),
      };
    },
  };
}

function paintChoices({ pen, width }: Surface, choices: readonly PlanChoice[], palette: Palette): void {
  const rod = { x: width * 0.58, width: width * 0.2 };
  pen.textAlign = "left";
  pen.textBaseline = "middle";
  choices.forEach((choice, i) => {
    const y = (i + 0.5) * SAVED.row;
    pen.fillStyle = palette.rule;
    pen.fillRect(0, (i + 1) * SAVED.row - 1, width, 1);
    pen.fillStyle = palette.ink;
    pen.font = `${choice.suggested ? 700 : 500} ${SAVED.px}px "IBM Plex Sans"`;
    pen.fillText(choiceName(choice), 0, y);
    pen.font = `500 ${SAVED.px}px "IBM Plex Sans"`;
    pen.fillText(reachWords(choice), width * 0.33, y, width * 0.24);
    pen.fillText(`${percent(choice.driftCancelledTypical)}, at least ${percent(choice.driftCancelledWorst)}`, rod.x + rod.width + 16, y);
    const typical = Math.max(0, choice.driftCancelledTypical) * rod.width;
    pen.fillRect(rod.x, y - 8, typical, 16);
    pen.fillStyle = palette.sheet;
    if (typical > 6) pen.fillRect(rod.x + 3, y - 5, typical - 6, 10);
    pen.fillStyle = palette.ink;
    pen.fillRect(rod.x, y - 8, Math.max(0, choice.driftCancelledWorst) * rod.width, 16);
  });
}

export function choicesChart(now: () => readonly PlanChoice[] | null): ChartSource {
  return {
    name: () => "ways-of-drawing",
    title: () => "Ways of drawing the order: smallest chance, and steady drift cancelled (solid at worst, hollow up to the usual)",
    picture() {
      const choices = now();
      return choices === null
        ? null
        : {
            width: SAVED.width,
            height: SAVED.row * choices.length,
            paint: (surface, palette) => paintChoices(surface, choices, palette),
          };
    },
    table() {
      const choices = now();
      if (choices === null) return null;
      return {
        columns: [
          { name: "Way of drawing", unit: "" },
          { name: "Orders", unit: "" },
          { name: "Smallest chance", unit: "" },
          { name: "Drift cancelled, usual", unit: "%" },
          { name: "Drift cancelled, at worst", unit: "%" },
        ],
        rows: choices.map((choice) => [
          choiceName(choice),
          choice.arrangements,
          choice.smallestPossibleP,
          Number((choice.driftCancelledTypical * 100).toFixed(1)),
          Number((choice.driftCancelledWorst * 100).toFixed(1)),
        ]),
      };
    },
  };
}
