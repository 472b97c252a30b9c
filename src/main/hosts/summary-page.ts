/** The report's summary as one picture's page: what the passenger hands round, and how many px hold it. Pure; never fails. */
import { html } from "../../shared/kernel/html.ts";

/** The summary whole, a handful of warnings included. */
const SUMMARY = { width: 1040, height: 1280, lines: 9, linePx: 27, characters: 84, strips: 250 + 240 } as const;
/** Leaves title, caution and summary: what the passenger hands round. */
const SUMMARY_ONLY = html`<style>main > :not(#summary):not(.caution), footer { display: none }</style>`;

/** What its warnings and its strips need beyond the usual: else the picture would end in the middle of a figure. */
function heightOf(html: string): number {
  const from = html.indexOf('id="summary"');
  const summary = html.slice(from, html.indexOf("</section>", from));
  const lines = [...summary.matchAll(/<li>(.*?)<\/li>/gs)].reduce(
    (sum, [, text = ""]) => sum + Math.ceil(text.length / SUMMARY.characters),
    0,
  );
  const strips = [...summary.matchAll(/viewBox="0 0 900 ([\d.]+)"/g)].reduce((sum, [, height]) => sum + Number(height), 0);
  return SUMMARY.height + Math.max(0, lines - SUMMARY.lines) * SUMMARY.linePx + Math.ceil(Math.max(0, strips - SUMMARY.strips) * 1.1);
}

/** The page without the rest of the report, and the px it fills. */
export function summaryPage(html: string): { readonly html: string; readonly width: number; readonly height: number } {
  return { html: html.replace("</head>", `${SUMMARY_ONLY}</head>`), width: SUMMARY.width, height: heightOf(html) };
}
