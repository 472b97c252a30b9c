/**
 * Words drawn on canvases, kept as they are drawn so that a test can ask where they stand: each with its box in CSS px of its canvas, and whatever was
 * filled over it afterwards. Runs in the page before its own code (`addInitScript`). The box is the text's ink as the browser measures it (HTML, TextMetrics).
 */

interface DrawnText {
  readonly text: string;
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
  /** The share of its own width that it was given. */
  readonly share: number;
  /** A filled rectangle that lies over a part of it. */
  coveredBy: string | null;
}

declare global {
  interface Window {
    drawnTexts(canvas: HTMLCanvasElement): readonly DrawnText[];
  }
}

export function keepCanvasTexts(): void {
  const drawn = new WeakMap<HTMLCanvasElement, DrawnText[]>();
  const proto = CanvasRenderingContext2D.prototype;
  const { fillText, fillRect, clearRect } = proto;
  /** Corners in CSS px of the canvas. */
  const boxOf = (context: CanvasRenderingContext2D, left: number, top: number, right: number, bottom: number) => {
    const ratio = context.canvas.width / Math.max(1, context.canvas.clientWidth);
    const at = context.getTransform();
    const corners = [
      [left, top],
      [right, top],
      [left, bottom],
      [right, bottom],
    ].map(([x = 0, y = 0]) => at.transformPoint(new DOMPoint(x, y)));
    const [xs, ys] = [corners.map(({ x }) => x / ratio), corners.map(({ y }) => y / ratio)];
    return { left: Math.min(...xs), right: Math.max(...xs), top: Math.min(...ys), bottom: Math.max(...ys) };
  };
  proto.clearRect = function (this: CanvasRenderingContext2D, x, y, width, height) {
    const box = boxOf(this, x, y, x + width, y + height);
    if (box.right - box.left >= this.canvas.clientWidth - 1) drawn.set(this.canvas, []);
    clearRect.call(this, x, y, width, height);
  };
  proto.fillText = function (this: CanvasRenderingContext2D, text, x, y, most) {
    const ink = this.measureText(text);
    const share = most === undefined || ink.width <= most ? 1 : most / ink.width;
    const [left, right] = [x - ink.actualBoundingBoxLeft * share, x + ink.actualBoundingBoxRight * share];
    const box = boxOf(this, left, y - ink.actualBoundingBoxAscent, right, y + ink.actualBoundingBoxDescent);
    const texts = drawn.get(this.canvas) ?? [];
    if (text.trim() !== "") texts.push({ text, ...box, share, coveredBy: null });
    drawn.set(this.canvas, texts);
    if (most === undefined) fillText.call(this, text, x, y);
    else fillText.call(this, text, x, y, most);
  };
  proto.fillRect = function (this: CanvasRenderingContext2D, x, y, width, height) {
    const box = boxOf(this, x, y, x + width, y + height);
    for (const text of drawn.get(this.canvas) ?? []) {
      const [wide, high] = [
        Math.min(text.right, box.right) - Math.max(text.left, box.left),
        Math.min(text.bottom, box.bottom) - Math.max(text.top, box.top),
      ];
      if (wide > 1 && high > 1)
        text.coveredBy = `a filled box of ${Math.round(box.right - box.left)} x ${Math.round(box.bottom - box.top)}`;
    }
    fillRect.call(this, x, y, width, height);
  };
  window.drawnTexts = (canvas) => drawn.get(canvas) ?? [];
}
