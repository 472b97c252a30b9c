/**
 * Markup (HTML, SVG) by a template tag. The template itself is trusted; every value put into it is escaped unless it is such markup itself.
 * Values may stand between tags or inside quoted attributes (OWASP, Cross Site Scripting Prevention: HTML entity encoding). Pure; never
 * fails.
 */

const ENTITIES: ReadonlyMap<string, string> = new Map([
  ["&", "&amp;"],
  ["<", "&lt;"],
  [">", "&gt;"],
  ['"', "&quot;"],
  ["'", "&#39;"],
]);

const escaped = (text: string) => text.replace(/[&<>"']/g, (sign) => ENTITIES.get(sign) as string);

/** Only the tag below creates this class, so nothing read from a book or a page can pass for markup. */
class Made {
  readonly #text: string;
  constructor(text: string) {
    this.#text = text;
  }
  toString(): string {
    return this.#text;
  }
}

export type Markup = Made;

/** Null and false add nothing; a list adds its parts in order. */
export type Part = Markup | string | number | null | undefined | false | readonly Part[];

function textOf(part: Part): string {
  if (part instanceof Made) return part.toString();
  if (Array.isArray(part)) return (part as readonly Part[]).map(textOf).join("");
  return part === null || part === undefined || part === false ? "" : escaped(String(part));
}

export function html(ours: TemplateStringsArray, ...parts: readonly Part[]): Markup {
  return new Made(parts.reduce<string>((text, part, i) => text + textOf(part) + (ours[i + 1] ?? ""), ours[0] ?? ""));
}

/** The parts with a separator between them. */
export const joined = (parts: readonly Part[], between: Part): Markup =>
  html`${parts.map((part, i) => (i === 0 ? part : [between, part]))}`;
