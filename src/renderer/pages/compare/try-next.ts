/**
 * What Time lost advises for the compared groups, as a hint. The comparison does not wait for it; an answer to an older question, or about
 * the runs before a change, is dropped, and is not left standing either.
 */
import type { RunRow } from "../../../shared/contract/contract.ts";
import type { CompareView } from "../../../shared/contract/judge-views.ts";
import type { TuneView } from "../../../shared/contract/tune-views.ts";
import { changeTitle, gainTitle } from "../../figures/advice-words.ts";
import { el } from "../../screen/dom.ts";
import { keyButton } from "../../screen/key-hints.ts";
import type { Frame } from "../../screen/page.ts";

export interface TryNext {
  readonly element: HTMLElement;
  /** What to try next with these groups of a comparison. One from before a change asks nothing: the groups to ask for come with the next. */
  ask(view: CompareView, groups: readonly string[]): Promise<void>;
}

interface Question {
  readonly groups: readonly string[];
  readonly gate: string;
  readonly where: readonly string[];
  /** Read again after every change: other ones make it another question. */
  readonly runs: readonly RunRow[];
}

/** Where there is no advice, at most this many reasons. */
const MOST_REASONS = 2;
const WORKING = "Being worked out.";
const NOTHING = "No advice yet: Time lost says what would help.";

const isSame = (a: Question, b: Question) =>
  a.runs === b.runs && JSON.stringify([a.gate, a.where, a.groups]) === JSON.stringify([b.gate, b.where, b.groups]);

function hintLines({ advice, silent }: Pick<TuneView, "advice" | "silent">): HTMLElement[] {
  const lines = advice.map((one) => el("p", {}, el("b", {}, `${one.group}. `), `${changeTitle(one)}: ${gainTitle(one)}.`));
  if (lines.length > 0) return lines;
  return (silent.length === 0 ? [NOTHING] : silent.slice(0, MOST_REASONS)).map((words) => el("p", {}, words));
}

export function createTryNext(frame: Frame): TryNext {
  let asked: Question | null = null;
  /** The newest comparison, with the runs that it is of. */
  let compared: { readonly view: CompareView; readonly runs: readonly RunRow[] } | null = null;
  const hints = el("div", { class: "hints small" });
  const say = (words: string) => hints.replaceChildren(el("p", {}, words));
  const toLost = keyButton(frame.keys, "Where the time went", "compare.lost", () => frame.go("lost"));
  return {
    element: el(
      "section",
      {},
      el("div", { class: "figure-head" }, el("h2", {}, "What to try next"), el("span", { class: "quiet small" }, "a hint, not a result")),
      hints,
      el("div", { class: "buttons" }, toLost),
    ),
    async ask(view, groups) {
      const wanted = { groups, gate: view.gate, where: view.where, runs: frame.runs() };
      if (compared?.view !== view) compared = { view, runs: wanted.runs };
      if (compared.runs !== wanted.runs) return say(WORKING);
      // It is there, or comes: the page is drawn anew with every size.
      if (asked !== null && isSame(wanted, asked)) return;
      asked = wanted;
      say(WORKING);
      try {
        const tuned = await frame.bridge.request("tune.read", { groups: [...groups], gate: view.gate, where: [...view.where] });
        if (asked === wanted && wanted.runs === frame.runs()) hints.replaceChildren(...hintLines(tuned));
      } catch (error) {
        if (asked === wanted) {
          asked = null;
          say("It could not be worked out.");
        }
        frame.fail(error);
      }
    },
  };
}
