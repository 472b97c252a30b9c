/**
 * Report: the very page that is saved, shown in a frame that can load nothing; saved as HTML, PDF or its summary as an image, its charts one by one.
 * It compares what Compare showed last. A host that cannot print says why; printing can be cancelled.
 */
import { createChartTools } from "../../screen/chart-tools.ts";
import { el, setText } from "../../screen/dom.ts";
import { gateName } from "../../screen/format.ts";
import { keyButton } from "../../screen/key-hints.ts";
import type { Frame, Page } from "../../screen/page.ts";
import { createWorkRod } from "../../screen/work-rod.ts";
import { dayScales } from "../../figures/drive-expectation.ts";
import { type NamedChart, reportCharts } from "./report-charts.ts";

type Format = "html" | "pdf" | "png";
const ADDRESS: Readonly<Record<Format, string>> = { html: "report", pdf: "report.pdf", png: "report.png" };
/** Shorter than this is done before a rod could be read. */
const WORK_MS = 500;

/** Fetches the finished file, so that what fails is said here and not in a broken download. */
async function save(address: string, format: Format, signal: AbortSignal): Promise<string> {
  const response = await fetch(address, { signal });
  if (!response.ok) throw new Error((await response.text()).trim());
  const name = decodeURIComponent(response.headers.get("X-File-Name") ?? `report.${format}`);
  const file = URL.createObjectURL(await response.blob());
  el("a", { href: file, download: name }).click();
  // The download has its own handle by then; a minute is more than any browser takes.
  setTimeout(() => URL.revokeObjectURL(file), 60_000);
  return name;
}

export function createReportPage(frame: Frame): Page {
  const title = el("h1", {}, "The day on paper.");
  const second = el("p", { class: "lead" });
  const preview = el("iframe", { title: "Report preview", sandbox: "", class: "report-preview" });
  const rod = createWorkRod(() => working?.abort());
  const select = el("select");
  const chartRow = el("div", { class: "chart-choice small" }, el("label", { class: "row" }, "One chart of it", select));
  let charts: readonly NamedChart[] = [];
  let visible = false;
  let working: AbortController | null = null;

  const chosen = () => charts[select.selectedIndex]?.chart ?? null;
  const tools = createChartTools(frame, "chosen on the left", {
    name: () => chosen()?.name() ?? "chart",
    title: () => chosen()?.title() ?? "",
    picture: () => chosen()?.picture() ?? null,
    table: () => chosen()?.table() ?? null,
  });
  chartRow.append(tools.element);

  /** The address of what Compare showed last. */
  function address(format: Format, more: Readonly<Record<string, string>> = {}): string {
    const { gate, start, groups = [] } = frame.compared.asked;
    const query = new URLSearchParams(more);
    if (gate !== undefined) query.set("gate", gate);
    if (start !== undefined) query.set("start", start);
    for (const group of groups) query.append("group", group);
    const text = query.toString();
    return text === "" ? ADDRESS[format] : `${ADDRESS[format]}?${text}`;
  }

  function sayCompared(): void {
    const { gate, start, groups } = frame.compared.asked;
    const as = [
      ...(gate === undefined ? [] : [`${gateName(gate)} from ${start ?? "movement"}`]),
      ...(groups === undefined ? [] : [groups.join(" against ")]),
    ];
    setText(
      second,
      `One file with everything in it: verdict, every value, prints, figures with intervals, conditions, plan, cautions.${as.length === 0 ? "" : ` As on Compare: ${as.join(", ")}.`}`,
    );
  }

  const keep = async (format: Format) => {
    if (working !== null) return;
    const mine = new AbortController();
    working = mine;
    const words =
      format === "html" ? "Writing the page" : format === "pdf" ? "Printing the page as PDF" : "Printing the summary as an image";
    setText(title, `${words}.`);
    const late = setTimeout(() => rod.show({ words, share: null, cancellable: true }), WORK_MS);
    try {
      const name = await save(await frame.bridge.pass(address(format)), format, mine.signal);
      setText(title, `Saved as ${name}.`);
      frame.announce(`Saved as ${name}`);
    } catch (error) {
      setText(title, mine.signal.aborted ? "Cancelled; nothing was saved." : "Not saved.");
      if (!mine.signal.aborted) frame.fail(error);
    } finally {
      clearTimeout(late);
      rod.show(null);
      working = null;
    }
  };
  const button = (word: string, format: Format) => keyButton(frame.keys, word, `report.${format}`, () => keep(format));
  const saveButton = button("Save page", "html");
  saveButton.classList.add("solid");

  async function loadCharts(): Promise<void> {
    const view = await frame.bridge.request("compare.read", frame.compared.asked);
    const runs = frame.runs();
    charts = reportCharts(frame.car(), view, runs, dayScales(runs));
    const at = Math.max(0, select.selectedIndex);
    select.replaceChildren(...charts.map(({ what }) => el("option", {}, what)));
    select.selectedIndex = Math.min(at, charts.length - 1);
    chartRow.hidden = charts.length === 0;
  }

  const refresh = () => {
    if (!visible) return;
    sayCompared();
    frame.bridge
      .pass(address("html", { at: `${frame.runs().length}-${Date.now()}` }))
      .then((passed) => {
        if (visible) preview.setAttribute("src", passed);
      })
      .catch(frame.fail);
    loadCharts().catch(frame.fail);
  };

  return {
    name: "report",
    title: "Report",
    element: el(
      "div",
      { class: "page report" },
      el(
        "div",
        { class: "sentence" },
        el("div", {}, title, second, rod.element),
        el("div", { class: "beside" }, saveButton, button("Save PDF", "pdf"), button("Save image", "png"), chartRow),
      ),
      preview,
    ),
    acts: {
      "report.html": () => void keep("html"),
      "report.pdf": () => void keep("pdf"),
      "report.png": () => void keep("png"),
    },
    takes: (_, event) => !(event.target instanceof HTMLSelectElement),
    shown() {
      visible = true;
      setText(title, "The day on paper.");
      refresh();
    },
    hidden() {
      visible = false;
      preview.removeAttribute("src");
    },
    cancel() {
      if (working === null) return false;
      working.abort();
      return true;
    },
    onEvent(event) {
      if (event.event === "runStored") refresh();
    },
    changed: () => undefined,
  };
}
