/** The two strips of a comparison on their canvases, and selecting a run on them by pointer. A strip without room is not drawn. */
import type { Comparison } from "../../../shared/judge/judged-run.ts";
import { el } from "../../screen/dom.ts";
import { number } from "../../screen/format.ts";
import { fontPx, readPalette, surface } from "../../draw/palette.ts";
import { paintOrderStrip } from "../../../shared/draw/order-strip.ts";
import type { ShownRun } from "../../../shared/draw/shown-difference.ts";
import { paintValueStrip, type Spot, type StripShow } from "../../../shared/draw/value-strip.ts";

const CLICK_PX = 18;

export interface CompareStrips {
  readonly values: HTMLElement;
  readonly order: HTMLElement;
  /** What is read to people who cannot see the strips. */
  describe(pair: Comparison, runs: readonly ShownRun[]): void;
  /** With a frame around the selected run. */
  paint(show: StripShow): void;
}

export function createCompareStrips(onPick: (run: number | null) => void): CompareStrips {
  const valueCanvas = el("canvas", { role: "img" });
  const orderCanvas = el("canvas", { role: "img" });
  const values = el("div", { class: "strip" }, valueCanvas);
  const spots = new Map<HTMLCanvasElement, readonly Spot[]>();
  for (const canvas of [valueCanvas, orderCanvas])
    canvas.addEventListener("click", (event) => {
      const at = spots.get(canvas)?.find((spot) => Math.hypot(spot.x - event.offsetX, spot.y - event.offsetY) < CLICK_PX);
      onPick(at?.run ?? null);
    });
  return {
    values,
    order: el("div", { class: "order" }, orderCanvas),
    describe({ a, b }, runs) {
      const list = (group: Comparison["a"]) => `${group.label}: ${group.values.map((value) => number(value, 2)).join(", ")} seconds`;
      valueCanvas.setAttribute("aria-label", `Every run on one axis. ${list(a)}; ${list(b)}`);
      const driven = runs.map((run) => `run ${run.id}, ${number(run.seconds, 2)}`).join("; ");
      orderCanvas.setAttribute("aria-label", `In the order driven: ${driven}`);
    },
    paint(show) {
      const palette = readPalette();
      const px = fontPx(values);
      const [valueSurface, orderSurface] = [surface(valueCanvas), surface(orderCanvas)];
      if (valueSurface !== null) spots.set(valueCanvas, paintValueStrip(valueSurface, show, palette, px));
      if (orderSurface !== null) spots.set(orderCanvas, paintOrderStrip(orderSurface, show, palette, px));
    },
  };
}
