/** Asks how a source is connected: a serial port, or one of the other kinds, each with one line to type. What is typed is checked by the core. */
import type { SourceView } from "../../../shared/contract/wiring-contract.ts";
import { el, setText } from "../../screen/dom.ts";

interface OtherKind {
  readonly key: string;
  readonly title: string;
  readonly hint: string;
  /** What the typed text means, as the set-up has it. */
  read(typed: string): unknown;
  /** The text that would be typed for a source; null for one of another kind. */
  typed(source: NonNullable<SourceView["other"]>): string | null;
}

const PORT_TITLE = "Serial port or USB";

const RECEIVER_KINDS: readonly OtherKind[] = [
  {
    key: "gpsd",
    title: "gpsd: the program that already has the receiver",
    hint: "Address, such as localhost; its port is 2947 unless named: localhost:2948",
    read: (typed) => ({ gpsd: typed }),
    typed: (source) => ("gpsd" in source ? source.gpsd : null),
  },
  {
    key: "tcp",
    title: "Network, TCP: the receiver or a program offers NMEA at an address",
    hint: "Address and port, such as 192.168.1.5:10110",
    read: (typed) => ({ tcp: typed }),
    typed: (source) => ("tcp" in source ? source.tcp : null),
  },
  {
    key: "udp",
    title: "Network, UDP: a phone or a receiver sends NMEA to this computer",
    hint: "Port, such as 10110; to hear one sender only: 10110 from 192.168.1.7",
    read(typed) {
      const [port = "", from] = typed.split(/\s+from\s+/);
      return { udp: Number(port), ...(from === undefined ? {} : { from }) };
    },
    typed: (source) => ("udp" in source ? `${source.udp}${source.from === undefined ? "" : ` from ${source.from}`}` : null),
  },
];

const ADAPTER_KINDS: readonly OtherKind[] = [
  {
    key: "socketcan",
    title: "CAN interface of Linux (SocketCAN), set to listen only",
    hint: "Interface, such as can0",
    read: (typed) => ({ socketcan: typed }),
    typed: (source) => ("socketcan" in source ? source.socketcan : null),
  },
];

export interface SourceKind {
  readonly element: HTMLElement;
  /** Null where it is a serial port; else the source as typed. */
  chosen(): { readonly source: unknown } | null;
  /** Where it is typed; null where it is a serial port. */
  typedIn(): HTMLInputElement | null;
}

/** `ofPort`: what belongs to a serial port, shown for that kind alone. */
export function createSourceKind(
  stream: "gnss" | "can",
  now: Pick<SourceView, "other"> | null,
  ofPort: readonly HTMLElement[],
): SourceKind {
  const kinds = stream === "gnss" ? RECEIVER_KINDS : ADAPTER_KINDS;
  const before = now?.other ?? null;
  let chosen = before === null ? null : (kinds.find((kind) => kind.typed(before) !== null) ?? null);
  const input = el("input", {
    type: "text",
    autocomplete: "off",
    maxlength: 300,
    value: before === null ? "" : (chosen?.typed(before) ?? ""),
  });
  const hint = el("span");
  const typed = el("label", {}, hint, input);
  const show = () => {
    typed.hidden = chosen === null;
    setText(hint, chosen?.hint ?? "");
    for (const part of ofPort) part.hidden = chosen !== null;
  };
  const rowOf = (kind: OtherKind | null) => {
    const box = el("input", { type: "radio", name: "kind", value: kind?.key ?? "port" });
    box.checked = kind === chosen;
    box.addEventListener("change", () => {
      chosen = kind;
      input.value = "";
      show();
    });
    return el("label", { class: "row" }, box, kind?.title ?? PORT_TITLE);
  };
  const element = el("fieldset", { class: "line-kind" }, el("legend", {}, "Connected by"), rowOf(null), ...kinds.map(rowOf), typed);
  show();
  return {
    element,
    chosen: () => (chosen === null ? null : { source: chosen.read(input.value.trim()) }),
    typedIn: () => (chosen === null ? null : input),
  };
}
