/** Naming a source's port: what talks on each, found by listening, or a port typed by hand. The answer names what is wrong with it. */
import { CANCELLED } from "../../../shared/contract/contract-error.ts";
import type { PortFound } from "../../../shared/contract/wiring-contract.ts";
import { el } from "../../app/dom.ts";
import type { Frame } from "../../app/page.ts";
import { openDialog } from "./wiring-dialog.ts";

const LEAST_BAUD = 300;
const MOST_BAUD = 12_000_000;

/** `now`: the port that the source has. */
export function pickPort(frame: Frame, stream: "gnss" | "can", now: string | null): void {
  const { bridge } = frame;
  const whose = stream === "gnss" ? "receiver" : "adapter";
  const other = el("input", { type: "text", autocomplete: "off", maxlength: 400, value: now ?? "" });
  const baud = el("input", { type: "text", inputmode: "numeric", autocomplete: "off", maxlength: 9 });
  const listElement = el(
    "div",
    { class: "ports", role: "radiogroup", "aria-label": "Ports" },
    el("p", { class: "quiet", role: "status" }, "Listening on every port\u2026"),
  );

  function rowOf(port: PortFound): HTMLElement {
    const box = el("input", { type: "radio", name: "port", value: port.path });
    box.addEventListener("change", () => {
      other.value = port.path;
    });
    const isReceiver = port.receiverBaud !== null;
    if (other.value === port.path || (stream === "gnss" && isReceiver && other.value === "")) {
      box.checked = true;
      other.value = port.path;
    }
    return el(
      "label",
      { class: "signal port" },
      box,
      el("span", { class: "name" }, port.path, el("span", { class: "quiet why" }, port.description)),
      el("span", { class: "talks" }, port.talks),
    );
  }

  async function use(): Promise<string | null> {
    const port = other.value.trim();
    if (port === "") return "Choose a port, or type its name: /dev/ttyACM0, COM3 ...";
    const typed = baud.value.trim();
    const rate = Number(typed);
    if (typed !== "" && !(Number.isInteger(rate) && rate >= LEAST_BAUD && rate <= MOST_BAUD))
      return `Baud: expected a whole number from ${LEAST_BAUD} to ${MOST_BAUD}, or nothing`;
    const edited = await bridge.request("wiring.source", { stream, port, baud: typed === "" ? null : rate });
    await frame.edit(`The ${whose} is on ${port}`, Promise.resolve(edited));
    return null;
  }

  const hint = stream === "gnss" ? "Baud (leave empty: found by listening)" : "Baud (leave empty: 115,200; USB adapters take any)";
  openDialog(
    {
      title: stream === "gnss" ? "Which port is the receiver on?" : "Which port is the adapter on?",
      content: [listElement, el("label", {}, "Port", other), el("label", {}, hint, baud)],
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
