/**
 * The runs of the day that the selected run belongs to, and the bar that leads to the days before and after. With one day there is no bar.
 */
import { el, setText } from "../../screen/dom.ts";
import type { Frame } from "../../screen/page.ts";
import { dayScales } from "../../figures/drive-expectation.ts";
import { createGroupKey } from "../../figures/group-key.ts";
import { hint } from "../../screen/key-hints.ts";
import { foundWords } from "./run-filter.ts";
import { runDays } from "./run-days.ts";
import { type ChosenRuns, createChosenRuns } from "./chosen-runs.ts";
import { createRunSearch } from "./run-search.ts";
import { createShelf } from "./shelf.ts";

export interface DayShelf {
  readonly bar: HTMLElement;
  readonly shelf: HTMLElement;
  /** Runs chosen among the tiles. */
  readonly chosen: ChosenRuns;
  /** Legend of the group marks. */
  readonly key: HTMLElement;
  /** `under`: the run that others are compared with in the figure. */
  show(selected: number | null, under: number | null): void;
  /** To the first run of the day that is `step` days later. */
  otherDay(step: number): void;
  /** Asks for words, and shows the runs that have them. */
  find(): Promise<void>;
}

/** What stands on the shelf, and the ways to other days and back to all runs. With one day and no search it is hidden. */
function createDayBar({ otherDay, all: showAll }: { otherDay(step: number): void; all(): void }) {
  const word = el("span", {});
  const button = (name: string, key: string, step: number) => {
    const made = el("button", { type: "button" }, name, el("kbd", {}, key));
    made.addEventListener("click", () => otherDay(step));
    return made;
  };
  const steps = [button("Earlier", "PgUp", -1), button("Later", "PgDn", 1)];
  const all = el("button", { type: "button", hidden: true }, "All runs");
  all.addEventListener("click", showAll);
  const element = el("div", { class: "day-bar small", hidden: true }, word, all, ...steps);
  return {
    element,
    show({ words, days, found }: { readonly words: string; readonly days: number; readonly found: boolean }) {
      for (const step of steps) step.hidden = days < 2;
      all.hidden = !found;
      element.hidden = days < 2 && !found;
      setText(word, words);
    },
  };
}

/** `onPick`: a run was pressed, or another day was chosen. `onChosen`: other runs are chosen to be edited as one. */
export function createDayShelf(frame: Frame, onPick: (id: number) => void, onChosen: () => void): DayShelf {
  let picked: number | null = null;
  /** What the tiles were last drawn from: opening a run must not wait for tiles that are already there. */
  let drawnOf: readonly unknown[] = [];
  let under: number | null = null;
  const search = createRunSearch(frame, onChosen);
  const find = el("button", { type: "button", class: "find-runs" }, "Find", hint(frame.keys, "runs.find"));
  find.addEventListener("click", () => void ask());
  const chosen = createChosenRuns({ frame, shelved: () => shelved().runs, shown: () => picked, onChange: onChosen });
  const pressed = (id: number, event: MouseEvent) => {
    if (!chosen.pressed(id, event)) onPick(id);
  };
  const shelf = createShelf(pressed, [find, chosen.button]);
  const key = createGroupKey();
  const bar = createDayBar({ otherDay, all: () => void seek("") });

  function dayNow() {
    const days = runDays(frame.runs());
    return { days, today: days.findIndex((one) => one.runs.some((run) => run.id === picked)) };
  }

  /** The runs on the shelf, and what is said of them. */
  function shelved() {
    const { days, today } = dayNow();
    const sought = search.sought();
    if (sought === "")
      return { runs: days[today]?.runs ?? [], words: `${days[today]?.word ?? ""}, day ${today + 1} of ${days.length}`, days: days.length };
    const runs = frame.runs();
    const found = search.found();
    return { runs: found, words: foundWords({ runs, found, sought, shown: picked }), days: 0 };
  }

  async function seek(words: string): Promise<void> {
    await search.seek(words);
    drawnOf = [];
    const [first] = shelved().runs;
    show(picked, under);
    if (first !== undefined && !shelved().runs.some(({ id }) => id === picked)) onPick(first.id);
    frame.announce(shelved().words);
  }

  async function ask(): Promise<void> {
    const words = await frame.ask({
      title: "Find runs",
      field: "Words, such as wet; or terms, such as surface=wet; day>=2031-05-04; empty shows all",
      value: search.sought(),
      button: "Find",
    });
    if (words === null) return;
    // A note of this drive may be newer than the list, which is read when a run is stored.
    await frame.reload();
    await seek(words).then(
      () => frame.fail(null, "find"),
      (error: unknown) => frame.fail(error, "find"),
    );
  }

  function otherDay(step: number): void {
    const { days, today } = dayNow();
    const first = days[today + step]?.runs[0];
    if (today >= 0 && first !== undefined) onPick(first.id);
  }

  return {
    bar: bar.element,
    shelf: shelf.element,
    key: key.element,
    chosen,
    otherDay,
    find: ask,
    show,
  };

  function show(selected: number | null, laidUnder: number | null): void {
    picked = selected;
    under = laidUnder;
    const [runs, groups] = [frame.runs(), frame.groups()];
    const { runs: now, words, days } = shelved();
    shelf.element.hidden = runs.length === 0;
    chosen.show();
    const drawOf = [
      runs,
      groups,
      ...(search.sought() === "" ? [now] : [search.sought(), now.length]),
      document.documentElement.dataset.scheme,
      document.documentElement.dataset.dim,
      window.innerWidth,
      window.devicePixelRatio,
    ];
    if (drawOf.some((part, i) => part !== drawnOf[i])) {
      drawnOf = drawOf;
      key.show(
        groups,
        now.map((run) => run.label),
      );
      shelf.render(now, groups, dayScales(runs));
    }
    shelf.mark({ selected, chosen: chosen.ids(), under });
    bar.show({ words, days, found: search.sought() !== "" });
  }
}
