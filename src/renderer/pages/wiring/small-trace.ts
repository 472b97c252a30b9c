/** The last half minute of a signal as a small line; gaps stay gaps. A constant signal is drawn in the middle. */

const WIDTH = 120;
const HEIGHT = 28;
const SPACE = "http://www.w3.org/2000/svg";

function pathOf(trace: readonly (number | null)[]): string {
  const values = trace.filter((value): value is number => value !== null);
  const low = Math.min(...values);
  const span = Math.max(...values) - low;
  const y = (value: number) => (span === 0 ? HEIGHT / 2 : HEIGHT - 3 - ((value - low) / span) * (HEIGHT - 6));
  const x = (i: number) => (trace.length < 2 ? 0 : (i / (trace.length - 1)) * WIDTH);
  return trace
    .map((value, i) => (value === null ? "" : `${i === 0 || trace[i - 1] === null ? "M" : "L"}${x(i).toFixed(1)} ${y(value).toFixed(1)}`))
    .join("");
}

export interface SmallTrace {
  readonly element: SVGSVGElement;
  draw(trace: readonly (number | null)[]): void;
}

export function createSmallTrace(): SmallTrace {
  const element = document.createElementNS(SPACE, "svg");
  element.setAttribute("viewBox", `0 0 ${WIDTH} ${HEIGHT}`);
  element.setAttribute("class", "small-trace");
  element.setAttribute("aria-hidden", "true");
  const path = document.createElementNS(SPACE, "path");
  path.setAttribute("fill", "none");
  path.setAttribute("stroke", "currentColor");
  path.setAttribute("stroke-width", "2");
  element.append(path);
  return { element, draw: (trace) => path.setAttribute("d", pathOf(trace)) };
}
