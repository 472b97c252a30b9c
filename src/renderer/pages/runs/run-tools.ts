/** Buttons to save or copy a run, with their keys, and beside them what was last saved or copied, since a key shows nothing else. */
import { type ChartSource, type ChartTools, createChartTools } from "../../screen/chart-tools.ts";
import { el, setText } from "../../screen/dom.ts";
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
      setText(said, words);
    },
    fail: frame.fail,
  };
  const { keys } = frame;
  const hints = { png: hint(keys, "runs.save"), svg: hint(keys, "runs.save", "Shift+"), copy: hint(keys, "runs.copy") };
  return { ...createChartTools(telling, "the run", source, hints), said };
}
