/** Picking the signal of a role: suggestions first, value and trace live, search by name and unit. A refusal stays in the dialog with its reason and its remedy. */
import type { Refused, RoleView, SetUpEdited, SignalView } from "../../../shared/contract/wiring-contract.ts";
import { openAsking } from "../../screen/asking-dialog.ts";
import { el, setText } from "../../screen/dom.ts";
import { number } from "../../screen/format.ts";
import type { Frame } from "../../screen/page.ts";
import { createSmallTrace, type SmallTrace } from "./small-trace.ts";
import { ROLE_TITLES } from "./wiring-words.ts";

const LOOK_EVERY_MS = 700;

interface Row {
  readonly element: HTMLElement;
  readonly box: HTMLInputElement;
  readonly value: HTMLElement;
  readonly trace: SmallTrace;
}

export function signalValue(view: SignalView): string {
  if (view.label !== null) return view.label;
  if (view.value === null) return "unknown";
  const digits = Number.isInteger(view.value) ? 0 : Math.abs(view.value) < 10 ? 2 : Math.abs(view.value) < 100 ? 1 : 0;
  return `${number(view.value, digits)}${view.unit === "" ? "" : `\u00a0${view.unit}`}`;
}

const isRefused = (answer: SetUpEdited | Refused): answer is Refused => "refused" in answer;

export function pickSignal(frame: Frame, role: RoleView): void {
  const { bridge } = frame;
  const title = ROLE_TITLES[role.role];
  const search = el("input", { type: "text", autocomplete: "off", maxlength: 100 });
  const invert = el("input", { type: "checkbox", checked: role.signals[0]?.invert ?? false });
  const rows = new Map<string, Row>();
  const listElement = el("div", { class: "signals", role: role.list ? "group" : "radiogroup", "aria-label": `Signals for ${title}` });
  const empty = el("p", { class: "quiet" }, "No signal of the file fits this role and these words.");
  const chosen = new Set(role.signals.map(({ signal }) => signal));
  let shown = "";
  let asked = 0;

  function rowOf(view: SignalView): Row {
    const box = el("input", { type: role.list ? "checkbox" : "radio", name: "signal", value: view.signal });
    box.checked = chosen.has(view.signal);
    box.addEventListener("change", () => {
      if (!role.list) chosen.clear();
      if (box.checked) chosen.add(view.signal);
      else chosen.delete(view.signal);
      if (view.suggested !== null) invert.checked = view.suggested.invert;
    });
    const value = el("span", { class: "value" });
    const trace = createSmallTrace();
    const why = view.suggested === null ? "" : `suggested: ${view.suggested.why}`;
    const element = el(
      "label",
      { class: "signal" },
      box,
      el("span", { class: "name" }, view.signal, el("span", { class: "quiet why" }, why)),
      trace.element,
      value,
    );
    return { element, box, value, trace };
  }

  function show(found: readonly SignalView[]): void {
    const now = found.map(({ signal, suggested }) => `${signal}${suggested === null ? "" : "*"}`).join();
    if (now !== shown && !listElement.contains(document.activeElement)) {
      shown = now;
      rows.clear();
      const best = found[0];
      if (chosen.size === 0 && best !== undefined && best.suggested !== null && best.suggested.score > 0.3) {
        chosen.add(best.signal);
        invert.checked = best.suggested.invert;
      }
      for (const view of found) rows.set(view.signal, rowOf(view));
      listElement.replaceChildren(...(rows.size === 0 ? [empty] : Array.from(rows.values(), ({ element }) => element)));
    }
    for (const view of found) {
      const row = rows.get(view.signal);
      if (row === undefined) continue;
      setText(row.value, signalValue(view));
      row.trace.draw(view.trace);
    }
  }

  async function look(): Promise<void> {
    asked += 1;
    const mine = asked;
    try {
      const found = await bridge.request("wiring.search", { role: role.role, text: search.value });
      if (mine === asked) show(found);
    } catch (error) {
      dialog.say(error instanceof Error ? error.message : String(error));
    }
  }

  async function use(anyway: boolean, turned = invert.checked): Promise<string | null> {
    againAnyway.hidden = true;
    invertIt.hidden = true;
    if (chosen.size === 0) return "Choose a signal first: Tab goes to the list, the arrow keys move in it";
    const choices = [...chosen].map((signal) => ({ signal, invert: turned }));
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
      content: [el("label", {}, "Search by name or unit", search), listElement, el("label", { class: "row" }, invert, "Invert its sign")],
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
