/** Legend of the group marks, drawn by the marks' own painter: one line of marks and names. Without groups it takes no room. */
import { MARK_NAMES, paintGroupMark } from "../../shared/draw/group-mark.ts";
import { readPalette, surface } from "../draw/palette.ts";
import { el } from "../screen/dom.ts";

export interface GroupKey {
  readonly element: HTMLElement;
  /** `groups` of the whole book; those of them that are shown. */
  show(groups: readonly string[], shown: readonly string[]): void;
}

export function createGroupKey(): GroupKey {
  const element = el("ul", { class: "group-key small", "aria-label": "Marks of the groups", hidden: true });
  return {
    element,
    show(groups, shown) {
      const named = groups.flatMap((label, mark) => (shown.includes(label) ? [{ label, mark }] : []));
      element.hidden = named.length === 0;
      const canvases = named.map(() => el("canvas", { "aria-hidden": "true" }));
      element.replaceChildren(
        ...named.map(({ label, mark }, i) =>
          el(
            "li",
            { "data-mark": MARK_NAMES[mark] ?? MARK_NAMES.at(-1) ?? "" },
            canvases[i] as HTMLElement,
            el("span", { title: label }, label),
          ),
        ),
      );
      const palette = readPalette();
      named.forEach(({ mark }, i) => {
        const drawn = surface(canvases[i] as HTMLCanvasElement);
        if (drawn !== null) paintGroupMark(drawn.pen, mark, { x: drawn.width / 2, y: drawn.height / 2, radius: 6 }, palette);
      });
    },
  };
}
