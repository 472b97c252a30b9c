/** What a port's bytes come over: proposed where the system or the port's name tells, and a person's own choice stays. */
import { lineOfPort } from "../../../shared/contract/port-line.ts";
import type { PortFound, SourceView } from "../../../shared/contract/wiring-contract.ts";
import { el } from "../../screen/dom.ts";

const LINES = [
  ["uart", "a serial line (UART), behind a USB bridge or not"],
  ["usb", "native USB"],
  ["", "not known"],
] as const;

export interface LineChoice {
  readonly element: HTMLElement;
  /** What the system tells of a port. */
  told(port: PortFound): void;
  /** Proposes for the port that is named now. */
  propose(port: string): void;
  /** null: not known. */
  chosen(): "uart" | "usb" | null;
}

/** `now`: the source as it is set up. */
export function createLineChoice(now: Pick<SourceView, "port" | "line"> | null): LineChoice {
  const told = new Map<string, PortFound["line"]>();
  const boxes = LINES.map(([value]) => el("input", { type: "radio", name: "line", value }));
  let chosenByHand = false;
  for (const box of boxes)
    box.addEventListener("change", () => {
      chosenByHand = true;
    });
  return {
    element: el(
      "fieldset",
      { class: "line-kind" },
      el("legend", {}, "Its bytes come over"),
      ...LINES.map(([, words], i) => el("label", { class: "row" }, boxes[i] as HTMLInputElement, words)),
      el(
        "p",
        { class: "quiet small" },
        "On a serial line each byte takes ten bits at the baud, which is taken off the moment it was read; from native USB, and where it is not known, nothing is taken off.",
      ),
    ),
    told: ({ path, line }) => void told.set(path, line),
    propose(port) {
      if (chosenByHand) return;
      const line = now !== null && port === now.port ? now.line : (told.get(port) ?? lineOfPort(port));
      for (const box of boxes) box.checked = box.value === (line ?? "");
    },
    chosen() {
      const line = boxes.find((box) => box.checked)?.value;
      return line === "uart" || line === "usb" ? line : null;
    },
  };
}
