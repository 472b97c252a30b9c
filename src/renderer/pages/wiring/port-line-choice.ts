/** Asks whether a port is serial or native USB: proposed where the system or the port's name shows it; a person's own choice stays. */
import { lineOfPort } from "../../../shared/contract/port-line.ts";
import type { PortFound, SourceView } from "../../../shared/contract/wiring-contract.ts";
import { el } from "../../screen/dom.ts";

const LINES = [
  ["uart", "serial (UART), also behind a USB bridge"],
  ["usb", "native USB"],
  ["", "not known"],
] as const;

export interface LineChoice {
  readonly element: HTMLElement;
  /** What the system says about a port. */
  told(port: PortFound): void;
  /** Proposes for the port that is chosen now. */
  propose(port: string): void;
  /** null: unknown. */
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
      el("legend", {}, "The port is"),
      ...LINES.map(([, words], i) => el("label", { class: "row" }, boxes[i] as HTMLInputElement, words)),
      el(
        "p",
        { class: "quiet small" },
        "Serial transmission time is subtracted; native USB needs none. Where this is not known, nothing is subtracted.",
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
