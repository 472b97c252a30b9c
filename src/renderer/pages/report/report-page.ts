/**
 * Report: the page as it will be saved, shown in a frame that can load nothing. It is saved as HTML, PDF or its summary as an image, its
 * charts one by one. It compares what Compare showed last. A host that cannot print says why; printing can be cancelled.
 */
import { dayScales } from "../../figures/drive-expectation.ts";
import { el, setText } from "../../screen/dom.ts";
import { keyButton } from "../../screen/key-hints.ts";
import type { Frame, Page } from "../../screen/page.ts";
import { overNetwork } from "../../bridge/over-network.ts";
import { createChartChoice } from "./chart-choice.ts";
import { type ReportFormat, reportAddress, reportWords } from "./report-address.ts";
import { reportCharts } from "./report-charts.ts";
import { createReportSaving } from "./save-report.ts";

const TITLE = "The day on paper.";
/** Until the frame shows it, which is empty meanwhile. */
const MANY_RUNS = 100;
const WRITING = "It is being written. With hundreds of runs that takes some seconds.";

export function createReportPage(frame: Frame): Page {
  let visible = false;
  const title = el("h1", {}, TITLE);
  const second = el("p", { class: "lead" });
  const preview = el("iframe", { title: "Report preview", sandbox: "", class: "report-preview" });
  preview.addEventListener("load", () => {
    if (preview.hasAttribute("src")) setText(second, reportWords(frame.compared.asked));
  });
  const saving = createReportSaving(frame, (words) => setText(title, words));
  const choice = createChartChoice(frame);
  const button = (word: string, format: ReportFormat) => keyButton(frame.keys, word, `report.${format}`, () => saving.save(format));
  const savePage = button("Save page", "html");
  savePage.classList.add("solid");
  const copy = keyButton(frame.keys, "Back up the book", "report.backUp", backUp);

  /** Also while recording; the copy lies beside the book. */
  async function backUp(): Promise<void> {
    if (overNetwork()) return setText(title, "Back up at the laptop: this screen only shows.");
    setText(title, "Copying the book.");
    try {
      const { file } = await frame.bridge.request("book.backUp", {});
      setText(title, `Copied to ${file}.`);
      frame.announce(`Copied to ${file}`);
    } catch (error) {
      setText(title, TITLE);
      frame.fail(error);
    }
  }

  async function loadCharts(): Promise<void> {
    const view = await frame.bridge.request("compare.read", frame.compared.asked);
    const runs = frame.runs();
    choice.show(reportCharts(view, { car: frame.car(), runs, groups: frame.groups(), scales: dayScales(runs) }));
  }

  function refresh(): void {
    if (!visible) return;
    const { asked } = frame.compared;
    // A newer one comes in the place of the one that is shown.
    if (!preview.hasAttribute("src")) setText(second, frame.runs().length > MANY_RUNS ? WRITING : "It is being written.");
    frame.bridge
      .pass(reportAddress(asked, "html", { at: `${frame.runs().length}-${Date.now()}` }))
      .then((passed) => {
        if (visible) preview.setAttribute("src", passed);
      })
      .catch((error: unknown) => {
        setText(second, reportWords(asked));
        frame.fail(error);
      });
    loadCharts().catch(frame.fail);
  }

  return {
    name: "report",
    title: "Report",
    element: el(
      "div",
      { class: "page report" },
      el(
        "div",
        { class: "sentence" },
        el("div", {}, title, second, saving.element),
        el("div", { class: "beside" }, savePage, button("Save PDF", "pdf"), button("Save image", "png"), copy, choice.element),
      ),
      preview,
    ),
    acts: {
      "report.backUp": () => void backUp(),
      "report.html": () => void saving.save("html"),
      "report.pdf": () => void saving.save("pdf"),
      "report.png": () => void saving.save("png"),
    },
    takes: (_, event) => !(event.target instanceof HTMLSelectElement),
    shown() {
      visible = true;
      setText(title, TITLE);
      refresh();
    },
    hidden() {
      visible = false;
      preview.removeAttribute("src");
    },
    cancel: saving.cancel,
    onEvent(event) {
      if (event.event === "runStored") refresh();
    },
    changed: () => undefined,
  };
}
