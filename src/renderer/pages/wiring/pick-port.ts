/**
 * Chooses a source: a port, by what sends on each or typed by hand, and whether it is a serial port or native USB; or a source of another
 * kind. The answer says what is wrong with it.
 */
import { CANCELLED } from "../../../shared/contract/contract-error.ts";
import type { RequestArgument } from "../../../shared/contract/contract.ts";
import type { PortFound, SourceView } from "../../../shared/contract/wiring-contract.ts";
import { openAsking } from "../../screen/asking-dialog.ts";
import { el } from "../../screen/dom.ts";
import type { Frame } from "../../screen/page.ts";
import { createLineChoice } from "./port-line-choice.ts";
import { createSourceKind } from "./source-kind.ts";
import { wordsOf } from "../../../shared/kernel/words-of.ts";

const LEAST_BAUD = 300;
const MOST_BAUD = 12_000_000;

/** A port's row: what it is and what sends there. */
const portRow = (box: HTMLElement, port: PortFound) =>
  el(
    "label",
    { class: "signal port" },
    box,
    el("span", { class: "name" }, port.path, el("span", { class: "quiet why" }, port.description)),
    el("span", { class: "talks" }, port.talks),
  );

/** The one port that can be meant, where the port set up before is not there or not it: Enter then takes it. Null with none or several. */
export function onlyPort(found: readonly PortFound[], stream: "gnss" | "can", before: string): string | null {
  const fits = found.filter(({ receiverBaud, talks }) =>
    stream === "gnss" ? receiverBaud !== null : receiverBaud === null && talks !== "in use here",
  );
  const kept = found.some(({ path, talks }) => path === before && (talks === "in use here" || fits.some((port) => port.path === path)));
  return kept || fits.length !== 1 ? null : (fits[0]?.path ?? null);
}

/** Empty: null, to be found by listening. */
function readBaud(typed: string): { readonly baud: number | null } | { readonly wrong: string } {
  if (typed === "") return { baud: null };
  const baud = Number(typed);
  if (Number.isInteger(baud) && baud >= LEAST_BAUD && baud <= MOST_BAUD) return { baud };
  return { wrong: `Baud: expected a whole number from ${LEAST_BAUD} to ${MOST_BAUD}, or nothing` };
}

/** `now`: the source as it is set up. */
export function pickPort(frame: Frame, stream: "gnss" | "can", now: Pick<SourceView, "port" | "line" | "other"> | null): void {
  const { bridge } = frame;
  const whose = stream === "gnss" ? "receiver" : "adapter";
  const other = el("input", {
    type: "text",
    autocomplete: "off",
    maxlength: 400,
    value: now === null || now.other !== null ? "" : now.port,
  });
  const baud = el("input", { type: "text", inputmode: "numeric", autocomplete: "off", maxlength: 9 });
  const listElement = el(
    "div",
    { class: "ports", role: "radiogroup", "aria-label": "Ports" },
    el("p", { class: "quiet", role: "status" }, "Listening on every port\u2026"),
  );
  const line = createLineChoice(now);
  const propose = () => line.propose(other.value.trim());
  let typed = false;
  other.addEventListener("input", () => {
    typed = true;
    propose();
  });
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
    const typedSource = kind.chosen();
    if (typedSource !== null) {
      const edited = await bridge.request("wiring.other", typedSource as RequestArgument<"wiring.other">);
      await frame.edit(`The ${whose} is set`, Promise.resolve(edited));
      return null;
    }
    const port = other.value.trim();
    if (port === "") return "Choose a port, or type its name: /dev/ttyACM0, COM3 ...";
    const read = readBaud(baud.value.trim());
    if ("wrong" in read) return read.wrong;
    const edited = await bridge.request("wiring.source", { stream, port, baud: read.baud, line: line.chosen() });
    await frame.edit(`The ${whose} is on ${port}`, Promise.resolve(edited));
    return null;
  }

  const hint = stream === "gnss" ? "Baud (leave empty: found by listening)" : "Baud (leave empty: 115,200; USB adapters take any)";
  const again = el("button", { type: "button" }, "Listen again");
  const ofPort = [listElement, el("label", {}, "Port", other), el("label", {}, hint, baud), line.element];
  const kind = createSourceKind(stream, now, [...ofPort, again]);
  again.addEventListener("click", () => void listen());
  openAsking(
    {
      title: stream === "gnss" ? "Where is the receiver?" : "Where is the adapter?",
      content: [kind.element, ...ofPort],
      button: `Use for the ${whose}`,
      more: [again],
      act: use,
      bridge,
      // Nobody waits for the list any more.
      closed: () => void bridge.request("work.cancel", { work: "ports" }).catch(frame.fail),
    },
    "Listening on this port\u2026",
  );
  const typedIn = kind.typedIn() ?? other;
  typedIn.focus();
  typedIn.select();
  const instead = (words: string) => listElement.replaceChildren(el("p", { class: "quiet", role: "status" }, words));

  /** A device may be plugged in, or into another port, while this is open. */
  async function listen(): Promise<void> {
    if (again.disabled) return;
    again.disabled = true;
    instead("Listening on every port\u2026");
    try {
      const found = await bridge.request("wiring.ports", { more: [] });
      if (found.length === 0) instead("This computer shows no serial port. Plug the device in and listen again, or type a port.");
      else listElement.replaceChildren(...found.map(rowOf));
      const only = typed ? null : onlyPort(found, stream, other.value);
      if (only !== null) listElement.querySelector<HTMLInputElement>(`input[value="${CSS.escape(only)}"]`)?.click();
    } catch (error) {
      const words = wordsOf(error);
      instead(words === CANCELLED ? "The list was cancelled; type a port, or listen again." : words);
    } finally {
      again.disabled = false;
    }
  }
  void listen();
}
