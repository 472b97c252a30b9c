/** Report: the very page that is saved, shown in a frame that can load nothing; saved as HTML, PDF or its summary as an image. A host that cannot print says why. */
import { el, setText } from "../../app/dom.ts";
import { keyButton } from "../../app/key-hints.ts";
import type { Frame, Page } from "../../app/page.ts";

type Format = "html" | "pdf" | "png";
const ADDRESS: Readonly<Record<Format, string>> = { html: "report", pdf: "report.pdf", png: "report.png" };

/** Fetches the finished file, so that what fails is said here and not in a broken download. */
async function save(format: Format): Promise<string> {
  const response = await fetch(ADDRESS[format]);
  if (!response.ok) throw new Error((await response.text()).trim());
  const name = response.headers.get("X-File-Name") ?? `report.${format}`;
  const address = URL.createObjectURL(await response.blob());
  el("a", { href: address, download: name }).click();
  // The download has its own handle by then; a minute is more than any browser takes.
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
  return name;
}

export function createReportPage(frame: Frame): Page {
  const title = el("h1", {}, "The day on paper.");
  const second = el(
    "p",
    { class: "lead" },
    "One page, self-contained: verdict, every value, prints, figures with intervals, conditions, plan, cautions.",
  );
  const preview = el("iframe", { title: "Report preview", sandbox: "", class: "report-preview" });
  let visible = false;

  const keep = async (format: Format) => {
    setText(title, format === "html" ? "Saving the page." : "Printing the page.");
    try {
      const name = await save(format);
      setText(title, `Saved as ${name}.`);
      frame.announce(`Saved as ${name}`);
    } catch (error) {
      setText(title, "Not saved.");
      frame.fail(error);
    }
  };
  const button = (word: string, format: Format) => keyButton(frame.keys, word, `report.${format}`, () => keep(format));
  const saveButton = button("Save page", "html");
  saveButton.classList.add("solid");
  const refresh = () => {
    if (visible) preview.setAttribute("src", `${ADDRESS.html}?at=${frame.runs().length}-${Date.now()}`);
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
        el("div", {}, title, second),
        el("div", { class: "beside" }, saveButton, button("Save PDF", "pdf"), button("Save image", "png")),
      ),
      preview,
    ),
    acts: {
      "report.html": () => void keep("html"),
      "report.pdf": () => void keep("pdf"),
      "report.png": () => void keep("png"),
    },
    shown() {
      visible = true;
      setText(title, "The day on paper.");
      refresh();
    },
    hidden() {
      visible = false;
      preview.removeAttribute("src");
    },
    onEvent(event) {
      if (event.event === "runStored") refresh();
    },
    changed: () => undefined,
  };
}
