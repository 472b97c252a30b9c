/** A run's ways out, with their keys on the buttons, and what was saved or copied last in words beside them: keys show nothing else. */
import { type ChartSource, type ChartTools, createChartTools } from "../../screen/chart-tools.ts";
import { el } from "../../screen/dom.ts";
import { hint } from "../../screen/key-hints.ts";
import type { Frame } from "../../screen/page.ts";

export interface RunTools extends ChartTools {
  readonly said: HTMLElement;
}

export function createRunTools(frame: Frame, source: ChartSource): RunTools {
  const said = el("span", { class: "small quiet said" });
  const telling = {
    announce(words: string) {
      frame.announce(words);
      said.textContent = words;
    },
    fail: frame.fail,
  };
  const { keys } = frame;
  const hints = { png: hint(keys, "runs.save"), svg: hint(keys, "runs.save", "Shift+"), copy: hint(keys, "runs.copy") };
  return { ...createChartTools(telling, "the run", source, hints), said };
}
