/** The handbook as web pages that need nothing but each other and the pictures: one page a chapter, the first one also under index.html. Pure. */
import { html, type Markup, type Part } from "../../shared/kernel/html.ts";
import type { HandbookChapter, HandbookPiece, HandbookTag } from "./handbook-tree.ts";

/** The colours and sizes of docs/look.md for a page that is read at a desk, by day or by night. */
const SITE_STYLE = `/* Written by npm run handbook: the look of docs/look.md, for reading. */
:root { color-scheme: light dark; --sheet: #edf1e6; --panel: #f9fbf5; --ink: #121813; --ink-2: #3b463d; --rule: #667166; }
@media (prefers-color-scheme: dark) { :root { --sheet: #141815; --panel: #1f2621; --ink: #e8ede2; --ink-2: #b4bfb3; --rule: #78847a; } }
* { box-sizing: border-box; }
body { margin: 0; background: var(--sheet); color: var(--ink); font: 500 19px/1.5 "IBM Plex Sans", sans-serif; font-variant-numeric: tabular-nums; }
header { padding: 14px 32px; border-bottom: 3px solid var(--ink); font-weight: 700; }
.body { display: grid; grid-template-columns: 300px minmax(0, 1fr); }
nav { padding: 20px 0; border-right: 2px solid var(--rule); }
nav a { display: block; padding: 8px 32px; color: inherit; text-decoration: none; font-size: 17px; }
nav a[aria-current] { font-weight: 700; box-shadow: inset 8px 0 var(--ink); }
nav a:hover { text-decoration: underline; }
a { color: inherit; }
main { padding: 12px 32px 64px; }
main > * { max-width: 44em; }
h1 { font-size: 34px; line-height: 1.15; margin: 16px 0; }
h2, h3 { font-size: 22px; margin: 32px 0 8px; }
img { display: block; max-width: 100%; height: auto; margin: 20px 0; border: 2px solid var(--rule); }
code { font: inherit; font-weight: 700; overflow-wrap: anywhere; }
.wide { overflow-x: auto; max-width: 60em; }
table { border-collapse: collapse; font-size: 17px; }
th, td { padding: 6px 16px 6px 0; border-bottom: 1px solid var(--rule); text-align: left; vertical-align: top; }
@media (max-width: 800px) { .body { grid-template-columns: minmax(0, 1fr); } nav { border-right: 0; border-bottom: 2px solid var(--rule); } main, header { padding-left: 16px; padding-right: 16px; } nav a { padding-left: 16px; } }
`;

const PICTURES = "../handbook/pictures";

/** Each element by itself: a tag's name cannot be put into the escaping tag. */
const MADE: Readonly<Record<HandbookTag, (inner: Part) => Markup>> = {
  h2: (inner) => html`<h2>${inner}</h2>\n`,
  h3: (inner) => html`<h3>${inner}</h3>\n`,
  p: (inner) => html`<p>${inner}</p>\n`,
  ul: (inner) => html`<ul>${inner}</ul>\n`,
  ol: (inner) => html`<ol>${inner}</ol>\n`,
  li: (inner) => html`<li>${inner}</li>\n`,
  table: (inner) => html`<div class="wide"><table>${inner}</table></div>\n`,
  thead: (inner) => html`<thead>${inner}</thead>\n`,
  tbody: (inner) => html`<tbody>${inner}</tbody>\n`,
  tr: (inner) => html`<tr>${inner}</tr>\n`,
  th: (inner) => html`<th scope="col">${inner}</th>`,
  td: (inner) => html`<td>${inner}</td>`,
  b: (inner) => html`<b>${inner}</b>`,
  em: (inner) => html`<em>${inner}</em>`,
  code: (inner) => html`<code>${inner}</code>`,
};

function markup(piece: HandbookPiece): Part {
  if (typeof piece === "string") return piece;
  if ("picture" in piece) return html`<img src="${PICTURES}/${piece.picture}" alt="${piece.words}" width="1280" height="720">\n`;
  if ("chapter" in piece) return html`<a href="${piece.chapter}.html">${piece.words}</a>`;
  return MADE[piece.tag](piece.children.map(markup));
}

function page(chapter: HandbookChapter, chapters: readonly HandbookChapter[]): string {
  const next = chapters[chapters.indexOf(chapter) + 1];
  const names = chapters.map(
    ({ name, title }) => html`<a href="${name}.html"${name === chapter.name ? html` aria-current="page"` : null}>${title}</a>\n`,
  );
  const made = html`<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; img-src 'self'; style-src 'self'">
<title>${chapter.title} – Gripbook handbook</title>
<link rel="stylesheet" href="handbook.css">
</head>
<body>
<header>Gripbook handbook</header>
<div class="body">
<nav aria-label="Chapters">
${names}</nav>
<main>
<h1>${chapter.title}</h1>
${chapter.pieces.map(markup)}${next === undefined ? null : html`<p>Next: <a href="${next.name}.html">${next.title}</a></p>\n`}</main>
</div>
</body>
</html>
`;
  return made.toString();
}

/** File name to text. */
export function handbookSite(chapters: readonly HandbookChapter[]): Readonly<Record<string, string>> {
  const first = chapters[0];
  if (first === undefined) throw new Error("docs/handbook/README.md: lists no chapter; add numbered lines: 1. [Title](name.md)");
  return {
    "handbook.css": SITE_STYLE,
    "index.html": page(first, chapters),
    ...Object.fromEntries(chapters.map((chapter) => [`${chapter.name}.html`, page(chapter, chapters)])),
  };
}
