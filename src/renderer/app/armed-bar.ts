/** Above every page but Drive: that launches are being timed meanwhile, and the abort. Drive's own view says and does both itself. */
import type { LaunchState, LiveEvent } from "../../shared/contract/contract.ts";
import { overNetwork } from "../bridge/over-network.ts";
import { OCTAGON } from "../pages/drive/drive-top.ts";
import { el, glyph, setText } from "../screen/dom.ts";
import type { Frame } from "../screen/page.ts";
import type { PageName } from "../screen/page-name.ts";

export interface ArmedBar {
  readonly element: HTMLElement;
  abort(): void;
  /** Aborts what is armed; false where nothing is. */
  end(): boolean;
  on(event: LiveEvent): void;
  /** Nothing arrives: the last state is no longer known to hold. The next event ends it. */
  lost(): void;
  /** Another page is shown. */
  onPage(name: PageName): void;
}

/** Null where nothing is armed. */
function armedWords(state: LaunchState): string | null {
  switch (state) {
    case "armed":
    case "done":
      return "Armed: the next launch is timed.";
    case "standing":
      return "Armed, and the car stands: a launch may begin.";
    case "launched":
      return "A launch is going on.";
    default:
      return null;
  }
}

const ABORTED = "Aborted: nothing is armed.";

/** `tell`: shows a notice until it is closed; null removes it. */
export function createArmedBar(
  { bridge, fail, go }: Pick<Frame, "bridge" | "fail" | "go">,
  tell: (words: string | null) => void,
): ArmedBar {
  const abort = () => void bridge.request("drive.abort", {}).catch(fail);
  let state: LaunchState = "idle";
  let isLost = false;
  let page: PageName | null = null;
  const words = el("p", {});
  const abortButton = el("button", { type: "button" }, "Abort", el("kbd", {}, "Esc"));
  const drive = el("button", { type: "button" }, "Go to Drive");
  abortButton.addEventListener("click", abort);
  drive.addEventListener("click", () => go("drive"));
  const element = el("div", { class: "bar armed-bar", role: "status", hidden: true }, glyph(OCTAGON, true), words, drive, abortButton);

  function render(): void {
    const told = page === "drive" ? null : armedWords(state);
    element.hidden = told === null;
    if (told !== null) setText(words, isLost ? "Armed when last heard: whether a launch is going on is not known." : told);
    // A screen in the network only shows.
    abortButton.hidden = overNetwork();
  }

  return {
    element,
    abort,
    end() {
      // A screen in the network may not, and keeps its own Esc.
      const isArmed = !overNetwork() && armedWords(state) !== null;
      if (isArmed) abort();
      return isArmed;
    },
    on(event) {
      if (event.state === state && !isLost) return;
      // Drive says it itself; elsewhere the bar would only be gone.
      if (event.state === "aborted" && armedWords(state) !== null && page !== "drive") tell(ABORTED);
      else if (armedWords(event.state) !== null) tell(null);
      state = event.state;
      isLost = false;
      render();
    },
    lost() {
      isLost = true;
      render();
    },
    onPage(name) {
      page = name;
      render();
    },
  };
}
