/** Naming a source's port: what talks on each, found by listening, or a port typed by hand; and what its bytes come over, proposed where the system tells. The answer names what is wrong with it. */
import { CANCELLED } from "../../../shared/contract/contract-error.ts";
import { lineOfPort } from "../../../shared/contract/port-line.ts";
import type { PortFound, SourceView } from "../../../shared/contract/wiring-contract.ts";
import { openAsking } from "../../screen/asking-dialog.ts";
import { el } from "../../screen/dom.ts";
import type { Frame } from "../../screen/page.ts";

const LEAST_BAUD = 300;
const MOST_BAUD = 12_000_000;

const LINES = [
  ["uart", "a serial line (UART), behind a USB bridge or not"],
  ["usb", "native USB"],
  ["", "not known"],
] as const;

/** `now`: the source as it is set up. */
export function pickPort(frame: Frame, stream: "gnss" | "can", now: Pick<SourceView, "port" | "line"> | null): void {
  const { bridge } = frame;
  const whose = stream === "gnss" ? "receiver" : "adapter";
  const other = el("input", { type: "text", autocomplete: "off", maxlength: 400, value: now?.port ?? "" });
  const baud = el("input", { type: "text", inputmode: "numeric", autocomplete: "off", maxlength: 9 });
  const listElement = el(
    "div",
    { class: "ports", role: "radiogroup", "aria-label": "Ports" },
    el("p", { class: "quiet", role: "status" }, "Listening on every port\u2026"),
  );

  const told = new Map<string, PortFound["line"]>();
  const lineBoxes = LINES.map(([value]) => el("input", { type: "radio", name: "line", value }));
  let chosenByHand = false;
  for (const box of lineBoxes)
    box.addEventListener("change", () => {
      chosenByHand = true;
    });
  /** What a person chose stays; else what is set up, or what the system tells of the port. */
  function propose(): void {
    if (chosenByHand) return;
    const port = other.value.trim();
    const line = now !== null && port === now.port ? now.line : (told.get(port) ?? lineOfPort(port));
    for (const box of lineBoxes) box.checked = box.value === (line ?? "");
  }
  other.addEventListener("input", propose);
  propose();

  function rowOf(port: PortFound): HTMLElement {
    const box = el("input", { type: "radio", name: "port", value: port.path });
    told.set(port.path, port.line);
    box.addEventListener("change", () => {
      other.value = port.path;
      propose();
    });
    const isReceiver = port.receiverBaud !== null;
    if (other.value === port.path || (stream === "gnss" && isReceiver && other.value === "")) {
      box.checked = true;
      other.value = port.path;
      propose();
    }
    return el(
      "label",
      { class: "signal port" },
      box,
      el("span", { class: "name" }, port.path, el("span", { class: "quiet why" }, port.description)),
      el("span", { class: "talks" }, port.talks),
    );
  }

  const lineChosen = () => {
    const line = lineBoxes.find((box) => box.checked)?.value;
    return line === "uart" || line === "usb" ? line : null;
  };

  async function use(): Promise<string | null> {
    const port = other.value.trim();
    if (port === "") return "Choose a port, or type its name: /dev/ttyACM0, COM3 ...";
    const typed = baud.value.trim();
    const rate = Number(typed);
    if (typed !== "" && !(Number.isInteger(rate) && rate >= LEAST_BAUD && rate <= MOST_BAUD))
      return `Baud: expected a whole number from ${LEAST_BAUD} to ${MOST_BAUD}, or nothing`;
    const edited = await bridge.request("wiring.source", { stream, port, baud: typed === "" ? null : rate, line: lineChosen() });
    await frame.edit(`The ${whose} is on ${port}`, Promise.resolve(edited));
    return null;
  }

  const hint = stream === "gnss" ? "Baud (leave empty: found by listening)" : "Baud (leave empty: 115,200; USB adapters take any)";
  const lines = el(
    "fieldset",
    { class: "line-kind" },
    el("legend", {}, "Its bytes come over"),
    ...LINES.map(([, words], i) => el("label", { class: "row" }, lineBoxes[i] as HTMLInputElement, words)),
    el(
      "p",
      { class: "quiet small" },
      "On a serial line each byte takes ten bits at the baud, which is taken off the moment it was read; from native USB, and where it is not known, nothing is taken off.",
    ),
  );
  openAsking(
    {
      title: stream === "gnss" ? "Which port is the receiver on?" : "Which port is the adapter on?",
      content: [listElement, el("label", {}, "Port", other), el("label", {}, hint, baud), lines],
      button: `Use for the ${whose}`,
      act: use,
      bridge,
      // Nobody waits for the list any more.
      closed: () => void bridge.request("work.cancel", { work: "ports" }).catch(frame.fail),
    },
    "Listening on this port\u2026",
  );
  other.focus();
  bridge.request("wiring.ports", { more: [] }).then(
    (found) => {
      const rows = found.map(rowOf);
      listElement.replaceChildren(
        ...(rows.length === 0
          ? [el("p", { class: "quiet" }, "This computer shows no serial port. Plug the device in and open this again, or type a port.")]
          : rows),
      );
    },
    (error: unknown) => {
      const words = error instanceof Error ? error.message : String(error);
      listElement.replaceChildren(
        el("p", { class: "quiet" }, words === CANCELLED ? "The list was cancelled; type a port, or open this again." : words),
      );
    },
  );
}
