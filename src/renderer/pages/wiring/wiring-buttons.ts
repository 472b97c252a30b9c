/**
 * Wiring's buttons: the finding's remedy first and solid. The other button with the same effect is hidden, and so are those that a
 * simulated car does not need.
 */
import { el, setText } from "../../screen/dom.ts";
import { keyButton } from "../../screen/key-hints.ts";
import type { KeyMap } from "../../screen/key-map.ts";
import type { WiringActs } from "./wiring-acts.ts";
import type { Finding, Remedy } from "./wiring-words.ts";

export interface WiringButtons {
  readonly element: HTMLElement;
  show(finding: Finding, simulated: boolean): void;
}

export function createWiringButtons(keys: KeyMap, { pick, remedy, remedies }: WiringActs): WiringButtons {
  const first = keyButton(keys, "Look", "wiring.remedy", remedy);
  first.classList.add("solid");
  const others: readonly (readonly [Remedy, HTMLButtonElement])[] = [
    ["pick", keyButton(keys, "Pick a signal", "wiring.pick", () => pick(null))],
    ["check", keyButton(keys, "Check again", "wiring.check", remedies.check)],
    ["bitrate", keyButton(keys, "Find bit rate", "wiring.bitrate", remedies.bitrate)],
    ["file", keyButton(keys, "Signal file", "wiring.file", remedies.file)],
  ];
  return {
    element: el("div", { class: "buttons edits" }, first, ...others.map(([, element]) => element)),
    show(finding, simulated) {
      setText(first.firstElementChild as Element, finding.button);
      for (const [name, element] of others) element.hidden = name === finding.remedy || simulated;
    },
  };
}
