/** The report's own style sheet: the day colours on one column of paper. It contains no address, so nothing can be fetched. */
import { html, type Markup } from "../kernel/html.ts";

export const REPORT_STYLE: Markup = html`
:root { --sheet: #EDF1E6; --panel: #F9FBF5; --ink: #121813; --ink-2: #3B463D; --rule: #667166; --slip: #8E2F00; --held: #084C7A; color-scheme: light; }
* { box-sizing: border-box; }
html { background: var(--sheet); }
body { margin: 0 auto; padding: 32px; max-width: 1040px; color: var(--ink); font: 500 18px/1.45 "IBM Plex Sans", system-ui, sans-serif; overflow-wrap: anywhere; }
header { display: flex; gap: 16px; align-items: center; padding-bottom: 12px; border-bottom: 3px solid var(--ink); }
header svg { width: 40px; height: 40px; }
header b { font-size: 22px; }
header span { margin-left: auto; }
h1 { font-size: 36px; line-height: 1.2; margin: 24px 0 8px; }
h2 { font-size: 22px; margin: 32px 0 8px; padding-top: 12px; border-top: 1px solid var(--rule); }
h3 { font-size: 18px; margin: 16px 0 4px; }
p { margin: 8px 0; max-width: 72ch; }
.lead { font-size: 22px; }
.quiet { color: var(--ink-2); }
figure { margin: 16px 0; }
figure svg { width: 100%; height: auto; display: block; }
svg text { font-family: inherit; }
.caution { background: var(--ink); color: var(--sheet); padding: 12px 16px; margin: 16px 0; max-width: none; }
.caution::before { content: "\\25B2\\00A0\\00A0"; }
.prints { display: grid; grid-template-columns: repeat(auto-fill, minmax(min(220px, 100%), 1fr)); gap: 16px; }
.prints figure { min-width: 0; margin: 0; border: 1px solid var(--rule); padding: 8px; break-inside: avoid; }
.prints figcaption { display: flex; gap: 8px; align-items: center; font-size: 16px; }
.prints figcaption svg { width: 20px; height: 20px; flex: none; }
.prints figcaption span { min-width: 0; }
.prints figcaption b { margin-left: auto; white-space: nowrap; }
.key { margin-right: 6px; }
.key svg { width: 24px; height: 14px; vertical-align: -2px; }
.wide { overflow-x: auto; }
table { border-collapse: collapse; font-variant-numeric: tabular-nums; font-size: 16px; }
th, td { overflow-wrap: break-word; text-align: left; padding: 6px 14px 6px 0; border-bottom: 1px solid var(--rule); vertical-align: top; }
th { font-weight: 700; }
td.broken { overflow-wrap: anywhere; }
td.figure { text-align: right; white-space: nowrap; }
td.figure .quiet { white-space: normal; }
pre { font-size: 14px; white-space: pre-wrap; overflow-wrap: anywhere; background: var(--panel); padding: 12px; }
ul { padding-left: 20px; max-width: 76ch; }
ol.order { columns: 3 190px; column-gap: 24px; margin: 8px 0; padding-left: 44px; }
ol.order li { break-inside: avoid; }
footer { margin-top: 32px; padding-top: 12px; border-top: 3px solid var(--ink); }
@media print {
  :root { --sheet: #FFFFFF; --panel: #FFFFFF; }
  .prints { grid-template-columns: repeat(3, minmax(0, 1fr)); gap: 8px; }
  p { break-inside: avoid; } h2 + p { break-after: avoid; }
  body { padding: 0; max-width: none; font-size: 11pt; }
  h1 { font-size: 20pt; } h1, h2, h3 { break-after: avoid; } h2 + p, h2 + p + p { break-after: avoid; }
  figure, tr, .caution, ol.order { break-inside: avoid; }
  .wide { overflow: visible; } table { width: 100%; font-size: 9pt; } th, td { padding-right: 6px; }
  * { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
}
@media (max-width: 640px) { body { padding: 16px; } h1 { font-size: 28px; } }
@media (forced-colors: active) { .caution { border: 3px solid; } }
`;
