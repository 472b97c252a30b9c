/**
 * Draws cables from the two source boxes to the roles: solid live, broken silent, none unmapped; a disc where checked, a ring where not
 * yet. Decoration: the rows say the same in words.
 */

export interface CableEnd {
  readonly source: "gnss" | "can";
  readonly row: Element;
  readonly state: "live" | "silent" | "unmapped";
  readonly checked: boolean;
}

const SPACE = "http://www.w3.org/2000/svg";
const RING = 9;
const TRUNK_FROM_END = 28;

function shape(name: "path" | "circle", attributes: Readonly<Record<string, string | number>>): SVGElement {
  const element = document.createElementNS(SPACE, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, String(value));
  return element;
}

const line = (d: string, dashed: boolean) =>
  shape("path", { d, fill: "none", stroke: "currentColor", "stroke-width": 5, ...(dashed ? { "stroke-dasharray": "5 6" } : {}) });

/** Draws into `svg`, which covers the space between the boxes and the rows. */
export function drawCables(svg: SVGSVGElement, boxes: Readonly<Record<"gnss" | "can", Element>>, ends: readonly CableEnd[]): void {
  const frame = svg.getBoundingClientRect();
  if (frame.width === 0) return;
  svg.setAttribute("viewBox", `0 0 ${frame.width} ${frame.height}`);
  const middle = (element: Element) => {
    const { top, height } = element.getBoundingClientRect();
    return top + height / 2 - frame.top;
  };
  const endX = frame.width - RING - 3;
  const shapes: SVGElement[] = [];
  for (const source of ["gnss", "can"] as const) {
    const mapped = ends.filter((end) => end.source === source && end.state !== "unmapped");
    const fromY = middle(boxes[source]);
    const trunkX = source === "gnss" ? frame.width - 2 * TRUNK_FROM_END : frame.width - TRUNK_FROM_END - RING;
    if (mapped.length > 0) {
      const ys = mapped.map(({ row }) => middle(row));
      const silent = mapped.every((end) => end.state === "silent");
      shapes.push(line(`M0 ${fromY}H${trunkX}M${trunkX} ${Math.min(fromY, ...ys) - 2.5}V${Math.max(fromY, ...ys) + 2.5}`, silent));
    }
    for (const end of mapped) shapes.push(line(`M${trunkX} ${middle(end.row)}H${endX - RING}`, end.state === "silent"));
  }
  for (const end of ends) {
    const solid = end.state !== "unmapped" && end.checked;
    shapes.push(
      shape("circle", {
        cx: endX,
        cy: middle(end.row),
        r: RING - 2,
        fill: solid ? "currentColor" : "none",
        stroke: "currentColor",
        "stroke-width": 4,
      }),
    );
  }
  svg.replaceChildren(...shapes);
}
