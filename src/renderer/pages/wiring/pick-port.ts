/** Naming a source's port: what talks on each, found by listening, or a port typed by hand; and what its bytes come over. The answer names what is wrong with it. */
import { CANCELLED } from "../../../shared/contract/contract-error.ts";
import type { PortFound, SourceView } from "../../../shared/contract/wiring-contract.ts";
import { openAsking } from "../../screen/asking-dialog.ts";
import { el } from "../../screen/dom.ts";
import type { Frame } from "../../screen/page.ts";
import { createLineChoice } from "./port-line-choice.ts";
import { wordsOf } from "../../../shared/kernel/words-of.ts";

const LEAST_BAUD = 300;
const MOST_BAUD = 12_000_000;

/** A port's row: what it is and what talks there. */
const portRow = (box: HTMLElement, port: PortFound) =>
  el(
    "label",
    { class: "signal port" },
    box,
    el("span", { class: "name" }, port.path, el("span", { class: "quiet why" }, port.description)),
    el("span", { class: "talks" }, port.talks),
  );

/** Empty: null, found by listening. */
function readBaud(typed: string): { readonly baud: number | null } | { readonly wrong: string } {
  if (typed === "") return { baud: null };
  const baud = Number(typed);
  if (Number.isInteger(baud) && baud >= LEAST_BAUD && baud <= MOST_BAUD) return { baud };
  return { wrong: `Baud: expected a whole number from ${LEAST_BAUD} to ${MOST_BAUD}, or nothing` };
}

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
  const line = createLineChoice(now);
  const propose = () => line.propose(other.value.trim());
  other.addEventListener("input", propose);
  propose();

  function rowOf(port: PortFound): HTMLElement {
    const box = el("input", { type: "radio", name: "port", value: port.path });
    line.told(port);
    const take = () => {
      other.value = port.path;
      propose();
    };
    box.addEventListener("change", take);
    const isReceiver = port.receiverBaud !== null;
    if (other.value === port.path || (stream === "gnss" && isReceiver && other.value === "")) {
      box.checked = true;
      take();
    }
    return portRow(box, port);
  }

  async function use(): Promise<string | null> {
    const port = other.value.trim();
    if (port === "") return "Choose a port, or type its name: /dev/ttyACM0, COM3 ...";
    const read = readBaud(baud.value.trim());
    if ("wrong" in read) return read.wrong;
    const edited = await bridge.request("wiring.source", { stream, port, baud: read.baud, line: line.chosen() });
    await frame.edit(`The ${whose} is on ${port}`, Promise.resolve(edited));
    return null;
  }

  const hint = stream === "gnss" ? "Baud (leave empty: found by listening)" : "Baud (leave empty: 115,200; USB adapters take any)";
  openAsking(
    {
      title: stream === "gnss" ? "Which port is the receiver on?" : "Which port is the adapter on?",
      content: [listElement, el("label", {}, "Port", other), el("label", {}, hint, baud), line.element],
      button: `Use for the ${whose}`,
      act: use,
      bridge,
      // Nobody waits for the list any more.
      closed: () => void bridge.request("work.cancel", { work: "ports" }).catch(frame.fail),
    },
    "Listening on this port\u2026",
  );
  other.focus();
  const instead = (words: string) => listElement.replaceChildren(el("p", { class: "quiet" }, words));
  bridge.request("wiring.ports", { more: [] }).then(
    (found) => {
      const rows = found.map(rowOf);
      if (rows.length === 0) instead("This computer shows no serial port. Plug the device in and open this again, or type a port.");
      else listElement.replaceChildren(...rows);
    },
    (error: unknown) => {
      const words = wordsOf(error);
      instead(words === CANCELLED ? "The list was cancelled; type a port, or open this again." : words);
    },
  );
}
