/** What each setting is worth, on paper, and which expected gains came true: as on Compare. Nothing where no setting differs and nothing was expected. */
import { html, type Part } from "../kernel/html.ts";
import { responseLines, type ResponseTold } from "../judge/response-words.ts";
import { responseSvg } from "./report-figures.ts";

export function responseSection(told: ResponseTold): Part {
  const { response, kept } = told;
  if (response === null && kept.length === 0) return null;
  const lines = responseLines(told).map((line) => html`<p>${line.trim()}</p>`);
  return html`<h2>What each setting is worth</h2>${response !== null && responseSvg(response)}${lines}`;
}
