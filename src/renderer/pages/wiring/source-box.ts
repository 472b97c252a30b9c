/** One source as a box: its port, its state in words, and whether it sends. */
import { RING, TICK, TRIANGLE } from "../../screen/icons.ts";
import type { SourceState } from "../../../shared/contract/contract.ts";
import type { PortTrouble, SourceView } from "../../../shared/contract/wiring-contract.ts";
import { el, glyph } from "../../screen/dom.ts";

export interface SourceBox {
  readonly element: HTMLElement;
  show(source: SourceView | null, more: readonly string[], simulated: boolean): void;
}

const TROUBLES: Readonly<Record<PortTrouble, string>> = {
  silent: "silent",
  wrongBaud: "wrong baud",
  garbage: "bytes that make no sense",
  receiverHere: "a receiver talks here",
  adapterHere: "an adapter talks here",
  unheard: "not listened to",
  trouble: "does not open",
};
const STATES: Readonly<Record<SourceState, string>> = {
  fresh: "talks",
  stale: "silent",
  waiting: "nothing heard yet",
  absent: "does not open",
  wrong: "makes no sense",
};
/** Longer words name place and remedy: they go into the sentence above. */
const MOST_LETTERS = 60;

/** A source's state, short enough for its box and its row. */
export function sourceWords(source: SourceView): string {
  if (source.trouble !== null) return TROUBLES[source.trouble];
  return source.health.words.length <= MOST_LETTERS ? source.health.words : STATES[source.health.state];
}

const LINE_WORDS = { uart: ", serial line", usb: ", native USB" } as const;
const thousands = (value: number) => value.toString().replace(/\B(?=(\d{3})+$)/g, ",");

/** Where it is, and how fast its line is. */
function placeWords({ port, baud, bitrate, line }: SourceView): string {
  const rate = bitrate !== null ? `${bitrate / 1000} kbit/s` : baud === null ? null : `${thousands(baud)} baud`;
  return baud === null
    ? [port, ...(rate === null ? [] : [rate])].join(", ")
    : `port ${port}, ${rate}${line === null ? "" : LINE_WORDS[line]}`;
}

export function createSourceBox(title: string): SourceBox {
  const mark = el("span", { class: "mark" });
  const lines = el("div", { class: "lines" });
  const element = el("section", { class: "source", "aria-label": title }, el("div", { class: "head" }, el("h2", {}, title), mark), lines);
  let said = "";
  return {
    element,
    show(source, more, simulated) {
      const talks = source !== null && source.health.state === "fresh";
      const wrong = source !== null && (source.trouble !== null || source.health.state === "wrong" || source.health.state === "absent");
      const words = simulated
        ? ["simulated", ...(source === null ? [] : [source.health.words])]
        : source === null
          ? ["not plugged in yet"]
          : [placeWords(source), ...sourceWords(source).split(", "), ...(source.bitrate === null ? [] : ["Listening only"])];
      const now = JSON.stringify([talks, wrong, words, more]);
      if (now === said) return;
      said = now;
      mark.replaceChildren(
        talks ? glyph(TICK) : wrong ? glyph(TRIANGLE, true) : glyph(RING),
        el("span", { class: "out-of-sight" }, talks ? "talks" : wrong ? "wrong" : "not heard yet"),
      );
      lines.replaceChildren(...[...words, ...more].map((text, i) => el("p", { class: i === 0 ? "quiet" : "" }, text)));
    },
  };
}
