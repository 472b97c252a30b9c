/**
 * The elements of the passenger's view, and how a view's words are put into them. Words change only when they differ, so that screen
 * readers read nothing twice.
 */
import type { SourceHealth } from "../../../shared/contract/contract.ts";
import { el } from "../../screen/dom.ts";
import type { KeyMap } from "../../screen/key-map.ts";
import { createDriveFoot, type DriveFoot } from "./drive-foot.ts";
import { createDriveTop } from "./drive-top.ts";
import { createHero, createSeamRow, createSide, type Side } from "./drive-values.ts";
import type { DriveView } from "./drive-view.ts";

export interface DriveElements {
  readonly root: HTMLElement;
  readonly speedCanvas: HTMLCanvasElement;
  readonly torqueCanvas: HTMLCanvasElement;
  readonly seamCanvas: HTMLCanvasElement;
  readonly sayNumbers: Side["sayNumbers"];
  /** The next run and its label; pressing it changes the label. */
  readonly run: HTMLButtonElement;
  readonly foot: DriveFoot;
  /** Shows a view's words. */
  say(view: DriveView, locked: boolean): void;
  sayHealth(gnss: SourceHealth | null, can: SourceHealth | null): void;
}

export function createDriveElements(keys: KeyMap): DriveElements {
  const top = createDriveTop(keys);
  const hero = createHero();
  const side = createSide();
  const seam = createSeamRow();
  const foot = createDriveFoot(keys);
  const heading = el("h1", { class: "out-of-sight" }, "Drive");
  return {
    root: el("div", { class: "drive" }, heading, top.element, hero.element, side.element, seam.element, foot.element),
    speedCanvas: side.speedCanvas,
    torqueCanvas: side.torqueCanvas,
    seamCanvas: seam.canvas,
    sayNumbers: side.sayNumbers,
    run: top.run,
    foot,
    say(view, locked) {
      top.say(view, locked);
      hero.say(view.hero);
      side.say(view.side);
      seam.say(view.slip, view.held);
      foot.say(view, locked);
    },
    sayHealth: top.sayHealth,
  };
}
