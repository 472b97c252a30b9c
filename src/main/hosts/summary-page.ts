/** The report's summary as a page for one picture, the one that people share, and its size in px. Pure; never fails. */
import { html } from "../../shared/kernel/html.ts";

/** Room for the whole summary with a handful of warnings. */
const SUMMARY = { width: 1040, height: 1280, lines: 9, linePx: 27, characters: 84, strips: 250 + 240 } as const;
/** Hides everything but title, caution and summary. */
const SUMMARY_ONLY = html`<style>main > :not(#summary):not(.caution), footer { display: none }</style>`;

/** Additional height for more warnings or larger figures; otherwise the picture would end inside a figure. */
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

/** The page without the rest of the report, and its size in px. */
export function summaryPage(html: string): { readonly html: string; readonly width: number; readonly height: number } {
  return { html: html.replace("</head>", `${SUMMARY_ONLY}</head>`), width: SUMMARY.width, height: heightOf(html) };
}
