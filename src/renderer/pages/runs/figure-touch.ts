/**
 * Fingers on a figure: one that moves pans, two zoom about their middle, a short touch picks. The mouse picks and drags the cursor; its
 * wheel zooms; sideways or with Shift it pans.
 */

export interface FigureTouch {
  pick(clientX: number): void;
  /** Sideways by px: what is under the finger stays under it. */
  pan(px: number): void;
  /** More than 1 enlarges. */
  zoom(clientX: number, factor: number): void;
}

/** A smaller movement is an unsteady finger, px. */
const STILL_PX = 8;
/** Zoom factor of one step of the wheel. */
const WHEEL_STEP = 1.2;

export function listenToPointers(element: HTMLElement, { pick, pan, zoom }: FigureTouch): void {
  const fingers = new Map<number, number>();
  let travelled = 0;
  let pinched = false;
  const spread = () => {
    const [a, b] = [...fingers.values()];
    return a === undefined || b === undefined ? null : { middle: (a + b) / 2, width: Math.max(20, Math.abs(a - b)) };
  };
  element.addEventListener("pointerdown", (event) => {
    element.setPointerCapture(event.pointerId);
    if (event.pointerType !== "touch") {
      pick(event.clientX);
      return;
    }
    if (fingers.size === 0) [travelled, pinched] = [0, false];
    fingers.set(event.pointerId, event.clientX);
    if (fingers.size > 1) pinched = true;
  });
  element.addEventListener("pointermove", (event) => {
    if (event.pointerType !== "touch") {
      if (element.hasPointerCapture(event.pointerId)) pick(event.clientX);
      return;
    }
    const was = fingers.get(event.pointerId);
    if (was === undefined) return;
    const before = spread();
    fingers.set(event.pointerId, event.clientX);
    const now = spread();
    travelled += Math.abs(event.clientX - was);
    if (before !== null && now !== null) zoom(now.middle, before.width / now.width);
    else if (travelled > STILL_PX) pan(event.clientX - was);
  });
  element.addEventListener("pointerup", (event) => {
    if (event.pointerType === "touch" && fingers.delete(event.pointerId) && travelled <= STILL_PX && !pinched) pick(event.clientX);
  });
  // The browser used the gesture for scrolling.
  element.addEventListener("pointercancel", (event) => fingers.delete(event.pointerId));
}

export function listenToWheel(element: HTMLElement, { pan, zoom }: FigureTouch): void {
  element.addEventListener(
    "wheel",
    (event) => {
      event.preventDefault();
      const sideways = event.shiftKey ? event.deltaY : event.deltaX;
      if (event.shiftKey || Math.abs(sideways) > Math.abs(event.deltaY)) pan(-sideways);
      else zoom(event.clientX, event.deltaY > 0 ? WHEEL_STEP : 1 / WHEEL_STEP);
    },
    { passive: false },
  );
}
