/** The day that a run was driven on: its runs on the shelf, and the bar that leads to the days beside it. With one day there is no bar. */
import { el } from "../../screen/dom.ts";
import type { Frame } from "../../screen/page.ts";
import { dayScales } from "../../figures/drive-expectation.ts";
import { runDays } from "./run-days.ts";
import { createShelf } from "./shelf.ts";

export interface DayShelf {
  readonly bar: HTMLElement;
  readonly shelf: HTMLElement;
  /** `under`: the run that others are laid over. */
  show(selected: number | null, under: number | null): void;
  /** To the first run of the day that many days on. */
  otherDay(step: number): void;
}

/** `onPick`: a run was pressed, or another day was asked for. */
export function createDayShelf(frame: Frame, onPick: (id: number) => void): DayShelf {
  let picked: number | null = null;
  /** What the tiles were drawn of: opening a run must not wait for tiles that stand already. */
  let drawnOf: readonly unknown[] = [];
  const shelf = createShelf(onPick);
  const word = el("span", {});
  const button = (name: string, key: string, step: number) => {
    const made = el("button", { type: "button" }, name, el("kbd", {}, key));
    made.addEventListener("click", () => otherDay(step));
    return made;
  };
  const bar = el("div", { class: "day-bar small", hidden: true }, word, button("Before", "PgUp", -1), button("After", "PgDn", 1));

  function dayNow() {
    const days = runDays(frame.runs());
    return { days, today: days.findIndex((one) => one.runs.some((run) => run.id === picked)) };
  }

  function otherDay(step: number): void {
    const { days, today } = dayNow();
    const first = days[today + step]?.runs[0];
    if (today >= 0 && first !== undefined) onPick(first.id);
  }

  return {
    bar,
    shelf: shelf.element,
    otherDay,
    show(selected, under) {
      picked = selected;
      const runs = frame.runs();
      const { days, today } = dayNow();
      const day = days[today];
      const drawOf = [runs, day, document.documentElement.dataset.scheme, window.innerWidth, window.devicePixelRatio];
      if (drawOf.some((part, i) => part !== drawnOf[i])) {
        drawnOf = drawOf;
        shelf.render(day?.runs ?? [], [...new Set(runs.map((run) => run.label))], dayScales(runs));
      }
      shelf.mark({ selected, under });
      bar.hidden = days.length < 2;
      word.textContent = `${day?.word ?? ""}, day ${today + 1} of ${days.length}`;
    },
  };
}
