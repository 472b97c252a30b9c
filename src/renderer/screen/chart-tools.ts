/**
 * Saving any chart: as PNG or SVG, its data as CSV or to the clipboard. One button that opens four; what cannot be saved says why in the
 * frame.
 */
import { chartPng, chartSvg, type Picture } from "../draw/chart-file.ts";
import { type ChartTable, tableCsv, tableText } from "../draw/chart-table.ts";
import { el, setText } from "./dom.ts";
import type { Frame } from "./page.ts";
import { saveFile } from "./save-file.ts";

export interface ChartSource {
  /** File name without its ending. */
  name(): string;
  /** The title above the picture: it must be understood by itself. */
  title(): string;
  /** Null while there is nothing to draw. */
  picture(): Picture | null;
  table(): ChartTable | null;
}

/** What a chart can be made into. */
export interface ChartWays {
  png(): Promise<void>;
  svg(): Promise<void>;
  csv(): Promise<void>;
  copy(): Promise<void>;
}

export interface ChartTools extends ChartWays {
  readonly element: HTMLElement;
}

const NOTHING = "There is nothing in this chart yet";
const COPY = "Copy data";

/** Some browsers and Electron refuse the clipboard to pages, but a selection that the person asked to copy is always allowed. */
async function toClipboard(text: string): Promise<void> {
  try {
    await navigator.clipboard.writeText(text);
  } catch (cause) {
    const area = el("textarea", { class: "out-of-sight", "aria-hidden": "true" });
    area.value = text;
    const before = document.activeElement;
    document.body.append(area);
    area.select();
    const done = document.execCommand("copy");
    area.remove();
    if (before instanceof HTMLElement) before.focus();
    if (!done) throw new Error("Copying: the clipboard is closed to this page; save the chart instead", { cause });
  }
}

function chartWays(frame: Pick<Frame, "announce" | "fail">, source: ChartSource): ChartWays {
  const picture = () => {
    const made = source.picture();
    if (made === null) throw new RangeError(NOTHING);
    return made;
  };
  const table = () => {
    const made = source.table();
    if (made === null) throw new RangeError(NOTHING);
    return made;
  };
  const trying = async (work: () => Promise<string>) => {
    try {
      frame.announce(await work());
    } catch (error) {
      frame.fail(error);
    }
  };
  return {
    png: () =>
      trying(async () => {
        const name = `${source.name()}.png`;
        saveFile(name, await chartPng(picture(), source.title()));
        return `Saved as ${name}`;
      }),
    svg: () =>
      trying(async () => {
        const name = `${source.name()}.svg`;
        saveFile(name, chartSvg(picture(), source.title()));
        return `Saved as ${name}`;
      }),
    csv: () =>
      trying(async () => {
        const name = `${source.name()}.csv`;
        saveFile(name, new Blob([tableCsv(table())], { type: "text/csv" }));
        return `Saved as ${name}`;
      }),
    copy: () =>
      trying(async () => {
        await toClipboard(tableText(table()));
        return "Copied";
      }),
  };
}

/** `what`: the chart's name for people who listen ("every value"). `hints`: the keys for saving, where the page has them. */
export function createChartTools(
  frame: Pick<Frame, "announce" | "fail">,
  what: string,
  source: ChartSource,
  hints: Readonly<Partial<Record<keyof ChartWays, HTMLElement>>> = {},
): ChartTools {
  const ways = chartWays(frame, source);
  const open = el(
    "button",
    { type: "button", "aria-expanded": "false" },
    "Save",
    el("span", { class: "out-of-sight" }, ` the chart: ${what}`),
  );
  const made = (word: string, way: keyof ChartWays, done = word) => {
    const text = el("span", {}, word);
    const button = el("button", { type: "button" }, text, hints[way] ?? "");
    button.addEventListener("click", () => void ways[way]().then(() => setText(text, done)));
    return { button, reset: () => setText(text, word) };
  };
  const buttons = [made("PNG", "png"), made("SVG", "svg"), made("CSV", "csv"), made(COPY, "copy", "Copied")];
  const group = el(
    "span",
    { class: "chart-ways", role: "group", "aria-label": `Save ${what}`, hidden: true },
    ...buttons.map(({ button }) => button),
  );
  const element = el("span", { class: "chart-tools" }, open, group);
  const set = (shown: boolean) => {
    open.setAttribute("aria-expanded", String(shown));
    group.hidden = !shown;
    for (const { reset } of buttons) reset();
  };
  open.addEventListener("click", () => set(group.hidden === true));
  element.addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || group.hidden) return;
    event.preventDefault();
    set(false);
    open.focus();
  });
  element.addEventListener("focusout", (event) => {
    if (!(event.relatedTarget instanceof Node && element.contains(event.relatedTarget))) set(false);
  });
  return { element, ...ways };
}
