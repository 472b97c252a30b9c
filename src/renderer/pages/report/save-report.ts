/**
 * Saves the report as a page, as PDF or its summary as an image. The finished file is fetched first, so that an error is shown here and not
 * as a broken download. One at a time; slow ones can be cancelled, and then nothing is saved.
 */
import { WORK_MS } from "../../screen/work-bar.ts";
import { el } from "../../screen/dom.ts";
import type { Frame } from "../../screen/page.ts";
import { createWorkRod } from "../../screen/work-rod.ts";
import { type ReportFormat, reportAddress } from "./report-address.ts";

const WORDS: Readonly<Record<ReportFormat, string>> = {
  html: "Writing the page",
  pdf: "Printing the page as PDF",
  png: "Printing the summary as an image",
};

async function download(address: string, format: ReportFormat, signal: AbortSignal): Promise<string> {
  const response = await fetch(address, { signal });
  if (!response.ok) throw new Error((await response.text()).trim());
  const name = decodeURIComponent(response.headers.get("X-File-Name") ?? `report.${format}`);
  const file = URL.createObjectURL(await response.blob());
  el("a", { href: file, download: name }).click();
  // The download has its own handle by then; no browser needs a minute.
  setTimeout(() => URL.revokeObjectURL(file), 60_000);
  return name;
}

export interface ReportSaving {
  /** Shows the progress. */
  readonly element: HTMLElement;
  save(format: ReportFormat): Promise<void>;
  /** False when nothing is being saved. */
  cancel(): boolean;
}

/** `say`: what is being saved, or was saved, in a sentence. */
export function createReportSaving(frame: Frame, say: (words: string) => void): ReportSaving {
  let working: AbortController | null = null;
  const cancel = () => {
    working?.abort();
    return working !== null;
  };
  const rod = createWorkRod(cancel);
  return {
    element: rod.element,
    cancel,
    async save(format) {
      if (working !== null) return;
      const mine = new AbortController();
      working = mine;
      const words = WORDS[format];
      say(`${words}.`);
      const late = setTimeout(() => rod.show({ words, share: null, cancellable: true }), WORK_MS);
      try {
        const name = await download(await frame.bridge.pass(reportAddress(frame.compared.asked, format)), format, mine.signal);
        say(`Saved as ${name}.`);
        frame.announce(`Saved as ${name}`);
      } catch (error) {
        say(mine.signal.aborted ? "Cancelled; nothing was saved." : "Not saved.");
        if (!mine.signal.aborted) frame.fail(error);
      } finally {
        clearTimeout(late);
        rod.show(null);
        working = null;
      }
    },
  };
}
