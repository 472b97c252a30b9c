/** The lower part of the passenger's view: what to do next, and the buttons. During a launch there is only the abort. */
import { el, glyph, setText } from "../../screen/dom.ts";
import { hint } from "../../screen/key-hints.ts";
import { whereDone } from "../../screen/only-shows.ts";
import type { KeyMap } from "../../screen/key-map.ts";
import { overNetwork } from "../../bridge/over-network.ts";
import { OCTAGON } from "./drive-top.ts";
import type { DriveView } from "./drive-view.ts";

/** On a screen that is reached over the local network. */
const THEIR_WORD = "The passenger at the laptop gives the all-clear";

export interface DriveFoot {
  readonly element: HTMLElement;
  /** Arms, or aborts; `data-kind` says which. */
  readonly action: HTMLButtonElement;
  readonly leave: HTMLButtonElement;
  readonly again: HTMLButtonElement;
  /** Adds a note to what was just aborted. */
  readonly note: HTMLButtonElement;
  /** Where the frame puts the undo button. */
  readonly undoSlot: HTMLElement;
  say(view: DriveView, locked: boolean): void;
}

interface ActionButton {
  readonly element: HTMLButtonElement;
  say(kind: DriveView["action"]["kind"], off: boolean): void;
}

function createAction(keys: KeyMap): ActionButton {
  const what = el("span", { class: "what" });
  const armKey = hint(keys, "drive.arm");
  const abortKey = hint(keys, "drive.abort");
  const element = el("button", { type: "button", class: "main solid" }, what, armKey, abortKey);
  return {
    element,
    say(kind, off) {
      if (element.dataset.kind !== kind) {
        element.dataset.kind = kind;
        what.replaceChildren(...(kind === "abort" ? [glyph(OCTAGON, true), "Abort"] : ["Arm"]));
        armKey.hidden = kind === "abort";
        abortKey.hidden = kind !== "abort";
      }
      element.setAttribute("aria-disabled", String(off));
      element.classList.toggle("solid", !off);
    },
  };
}

export function createDriveFoot(keys: KeyMap): DriveFoot {
  const strong = el("strong");
  const quiet = el("span", { class: "quiet" });
  const action = createAction(keys);
  const leave = el("button", { type: "button", class: "leave" }, "Leave", hint(keys, "drive.leave"));
  const again = el("button", { type: "button", class: "again", hidden: true }, "Drive again", hint(keys, "drive.again"));
  const note = el("button", { type: "button", class: "note", hidden: true, "data-kind": "note" }, "Note", hint(keys, "drive.note"));
  const atLaptop = el("span", { class: "at-laptop" }, whereDone(overNetwork() ? "Arm, abort and label" : "Arm and label"));
  const undoSlot = el("div", { class: "undo-slot" });
  const next = el("p", { class: "next" }, strong, quiet);
  return {
    element: el("div", { class: "foot" }, next, undoSlot, again, note, leave, atLaptop, action.element),
    action: action.element,
    leave,
    again,
    note,
    undoSlot,
    say(view, locked) {
      const offBecause = view.action.kind === "arm" ? view.action.offBecause : null;
      const elsewhere = overNetwork();
      // The word to the driver is the passenger's alone, and the keys are the laptop's.
      const next = elsewhere && view.plate.state === "standing" ? THEIR_WORD : view.next.strong;
      setText(strong, offBecause ?? next);
      setText(quiet, elsewhere ? "" : view.next.quiet);
      action.say(view.action.kind, offBecause !== null);
      again.hidden = locked || !view.mayDriveAgain;
      note.hidden = locked || !view.mayNote;
      undoSlot.hidden = locked;
      // Where nothing is armed or aborted, nothing else needs its place.
      leave.hidden = !elsewhere && (locked || view.action.kind === "abort");
    },
  };
}
