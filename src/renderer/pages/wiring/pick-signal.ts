/**
 * Chooses the signal of a role: suggestions first, live values and traces, search by name and unit. A refusal stays in the dialog with its
 * reason and its remedy.
 */
import type { Refused, RoleView, SetUpEdited } from "../../../shared/contract/wiring-contract.ts";
import { openAsking } from "../../screen/asking-dialog.ts";
import { el } from "../../screen/dom.ts";
import type { Frame } from "../../screen/page.ts";
import { createSignalList } from "./signal-list.ts";
import { ROLE_TITLES } from "./wiring-words.ts";
import { wordsOf } from "../../../shared/kernel/words-of.ts";

const LOOK_EVERY_MS = 700;

const isRefused = (answer: SetUpEdited | Refused): answer is Refused => "refused" in answer;

export function pickSignal(frame: Frame, role: RoleView): void {
  const { bridge } = frame;
  const title = ROLE_TITLES[role.role];
  const search = el("input", { type: "text", autocomplete: "off", maxlength: 100 });
  const invert = el("input", { type: "checkbox", checked: role.signals[0]?.invert ?? false });
  const list = createSignalList(role, title, (turned) => {
    invert.checked = turned;
  });
  let asked = 0;

  async function look(): Promise<void> {
    asked += 1;
    const mine = asked;
    try {
      const found = await bridge.request("wiring.search", { role: role.role, text: search.value });
      if (mine === asked) list.show(found);
    } catch (error) {
      dialog.say(wordsOf(error));
    }
  }

  async function use(anyway: boolean): Promise<string | null> {
    const turned = invert.checked;
    againAnyway.hidden = true;
    invertIt.hidden = true;
    const chosen = list.chosen();
    if (chosen.length === 0) return "Choose a signal first: Tab goes to the list, the arrow keys move in it";
    const choices = chosen.map((signal) => ({ signal, invert: turned }));
    const answer = await bridge.request("wiring.choose", { role: role.role, choices, anyway });
    if (isRefused(answer)) {
      invertIt.hidden = !answer.reversed;
      againAnyway.hidden = !answer.mayOverride;
      if (answer.reversed) invertIt.focus();
      return answer.refused;
    }
    await frame.edit(`${title} set`, Promise.resolve(answer));
    return null;
  }

  const invertIt = el("button", { type: "button", hidden: true }, "Invert it");
  const againAnyway = el("button", { type: "button", hidden: true }, "Use it all the same");
  const away = el("button", { type: "button", hidden: role.signals.length === 0 }, "Take away");
  const dialog = openAsking(
    {
      title: `Pick a signal: ${title}`,
      content: [el("label", {}, "Search by name or unit", search), list.element, el("label", { class: "row" }, invert, "Invert its sign")],
      button: role.list ? "Use these signals" : "Use this signal",
      more: [invertIt, againAnyway, away],
      act: () => use(false),
      closed: () => clearInterval(timer),
      bridge,
    },
    "Checking it against the drive so far\u2026",
  );
  invertIt.addEventListener("click", () => {
    invert.checked = !invert.checked;
    dialog.run(() => use(false), "Checking it inverted\u2026");
  });
  againAnyway.addEventListener("click", () => dialog.run(() => use(true), "Keeping it\u2026"));
  away.addEventListener("click", () =>
    dialog.run(async () => {
      await frame.edit(
        `${title} taken away`,
        bridge.request("wiring.choose", { role: role.role, choices: [], anyway: false }) as Promise<SetUpEdited>,
      );
      return null;
    }, "Taking it away\u2026"),
  );
  search.addEventListener("input", () => void look());
  const timer = setInterval(() => void look(), LOOK_EVERY_MS);
  search.focus();
  void look();
}
