/**
 * The switch for the page on the local network, under F1: says in words what it opens and to whom, and shows the code to scan. A code is told
 * once, and gone when the dialog closes. What cannot be opened is explained.
 */
import { encode } from "uqr";
import type { Bridge } from "../../shared/contract/contract.ts";
import type { NetworkAddress, NetworkView } from "../../shared/contract/network-contract.ts";
import { wordsOf } from "../../shared/kernel/words-of.ts";
import { el, glyph, setText } from "../screen/dom.ts";

/** How often the number of screens is read. */
const LOOK_MS = 1000;
/** Of empty modules around a code (ISO/IEC 18004, "quiet zone"). */
const QUIET_MODULES = 4;

const OFF = "Off. It shows these screens on a phone, or on another laptop, in the same network as this one.";
const ONLY_SHOWS = "A screen there only shows: it can never arm, abort, label, edit or print. Nothing tells where the car is.";
const PLAIN =
  "Others in that network can connect, but get nothing without the code. The way is not encrypted: whoever can listen in on the network can read what is shown, and get in with what they read. Use a network of your own, such as the phone\u2019s hotspot.";
const SCAN = "Scan it with the phone\u2019s camera. It opens one screen, and no other after it.";
const NO_CODE = "For one more screen, show a new code.";
const USED = "The code was used: it opens nothing more.";

/** The code as one path: each dark module of a row begins a square of 1 by 1. */
function picture(text: string): HTMLElement {
  const { data, size } = encode(text, { ecc: "M", border: QUIET_MODULES });
  const dark = data.flatMap((row, y) => row.flatMap((isDark, x) => (isDark ? [`M${x} ${y}h1v1h-1z`] : [])));
  return el("div", { class: "code", role: "img", "aria-label": "Code to scan" }, glyph(dark.join(""), true, `0 0 ${size} ${size}`));
}

const reaches = ({ address, name, range }: NetworkAddress) =>
  `This opens ${address} to every device in the network of ${name} (${range}), until you turn it off or Gripbook ends.`;

function refusals({ addresses, refused }: NetworkView): string {
  const why = refused.map((one) => `${one.name} ${one.address}: ${one.why}.`).join(" ");
  if (addresses.length > 0) return "";
  return `It cannot be turned on: this computer has no private address now. ${why === "" ? "Join a network first." : why}`;
}

export interface NetworkSection {
  readonly elements: readonly HTMLElement[];
  /** The dialog is closed. */
  end(): void;
}

export function createNetworkSection(bridge: Bridge): NetworkSection {
  let view: NetworkView | null = null;
  let link: string | null = null;
  const said = el("p", { class: "small", role: "status" }, "Looking\u2026");
  const words = el("p", { class: "small" });
  const wrong = el("p", { class: "small", role: "alert" });
  const choice = el("select", { "aria-label": "Address of this computer" });
  const code = el("div", { class: "code-box" });
  const button = (text: string, act: () => Promise<unknown>, solid = false) => {
    const made = el("button", { type: "button", class: solid ? "solid" : "" }, text);
    made.addEventListener("click", () => void work(act));
    return made;
  };
  const on = button("Turn on", async () => take(await bridge.request("network.on", { address: choice.value })), true);
  const another = button("New code", async () => take(await bridge.request("network.code", {})));
  const off = button("Turn off", async () => show(await bridge.request("network.off", {})), true);

  function take(told: { readonly link: string; readonly view: NetworkView }): void {
    link = told.link;
    code.replaceChildren(picture(told.link), el("p", { class: "small link" }, told.link), el("p", { class: "small" }, SCAN));
    show(told.view);
  }

  async function work(act: () => Promise<unknown>): Promise<void> {
    setText(wrong, "");
    for (const each of [on, another, off]) each.disabled = true;
    try {
      await act();
    } catch (error) {
      setText(wrong, `${wordsOf(error)}.`);
      await look();
    } finally {
      for (const each of [on, another, off]) each.disabled = false;
    }
  }

  function offer({ addresses }: NetworkView): void {
    if (addresses.map(({ address }) => address).join() === [...choice.options].map(({ value }) => value).join()) return;
    choice.replaceChildren(...addresses.map(({ address }) => el("option", { value: address }, address)));
  }

  function show(now: NetworkView): void {
    view = now;
    offer(now);
    if (now.on === null || now.on.codeUsed) link = null;
    if (link === null) code.replaceChildren();
    const chosen = now.on?.at ?? now.addresses.find(({ address }) => address === choice.value);
    const screens = now.on?.screens === 1 ? "1 screen is connected" : `${now.on?.screens ?? 0} screens are connected`;
    const next = link !== null ? "" : now.on?.codeUsed === true ? ` ${USED} ${NO_CODE}` : ` ${NO_CODE}`;
    setText(said, now.on === null ? OFF : `On, at ${now.on.url}: ${screens}.${next}`);
    setText(words, chosen === undefined ? refusals(now) : `${reaches(chosen)} ${ONLY_SHOWS} ${PLAIN}`);
    choice.hidden = now.on !== null || now.addresses.length === 0;
    on.hidden = choice.hidden;
    another.hidden = now.on === null;
    off.hidden = now.on === null;
  }

  const look = () =>
    bridge.request("network.read", {}).then(show, (error: unknown) => {
      setText(said, wordsOf(error));
    });
  choice.addEventListener("change", () => view !== null && show(view));
  void look();
  const timer = setInterval(() => void look(), LOOK_MS);
  return {
    elements: [said, words, choice, code, wrong, el("div", { class: "buttons" }, on, off, another)],
    end: () => clearInterval(timer),
  };
}
