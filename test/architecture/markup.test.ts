/**
 * Markup is made only by the escaping tag (src/shared/kernel/html.ts): no string and no untagged template of src contains an opening tag.
 * Parsed by swc; the check finds known violations and reads every file.
 */
import { readdirSync, readFileSync } from "node:fs";
import { type Module, parseSync } from "@swc/core";
import { describe, expect, test } from "vitest";

/** Opening tags of HTML and SVG elements; words of a help text such as "--book <file>" do not count. */
const OPENS =
  /<(?:!doctype|(?:a|b|body|br|button|div|figure|footer|form|g|h[1-6]|head|header|html|i|iframe|img|input|li|line|link|main|meta|ol|p|path|pattern|pre|rect|script|section|span|style|svg|table|tbody|td|text|th|thead|title|tr|u|ul)(?=[\s>/]))/i;

/** Kinds of text from which a program could build markup, with their content; text in a tagged template is checked by the tag. */
function textsOf(node: unknown, tagged = false, found: string[] = []): string[] {
  if (Array.isArray(node)) for (const item of node) textsOf(item, false, found);
  else if (typeof node === "object" && node !== null) {
    const { type, value, raw, tag } = node as { type?: string; value?: unknown; raw?: unknown; tag?: { value?: string } };
    if (type === "StringLiteral" && typeof value === "string") found.push(value);
    if (type === "TemplateElement" && !tagged && typeof raw === "string") found.push(raw);
    for (const [key, child] of Object.entries(node)) {
      const isOurs = type === "TaggedTemplateExpression" && key === "template" && tag?.value === "html";
      if (!isOurs) textsOf(child, false, found);
      else textsOf((child as { expressions?: unknown }).expressions, false, found);
    }
  }
  return found;
}

const parse = (source: string): Module => parseSync(source, { syntax: "typescript", target: "es2023" });
const offending = (source: string) => textsOf(parse(source)).filter((text) => OPENS.test(text));

/** A page of one line whose only part is a key of our own, used before a page's files exist. */
const EXCEPT = ["main/hosts/web/open-browser.ts", "main/hosts/web/web-host.ts"];
/** Its options are written like tags: "--out <path>". It makes no markup. */
const COMMANDS = "main/command-line/";

/** "$[" for the sign that the linter takes for a slip in a plain string. */
const template = (source: string) => source.replaceAll("$[", `$${"{"}`).replaceAll("]", "}");

describe("markup", () => {
  const sources = readdirSync("src", { recursive: true, encoding: "utf8" }).filter(
    (file) => file.endsWith(".ts") && !EXCEPT.includes(file) && !file.startsWith(COMMANDS),
  );
  test("is made by the tag in every source file", () => {
    const found = sources.flatMap((file) => offending(readFileSync(`src/${file}`, "utf8")).map((text) => `${file}: ${text.slice(0, 60)}`));
    expect(found).toEqual([]);
    expect(sources.length).toBeGreaterThan(250);
    const tagged = sources.filter((file) => /\bhtml`/.test(readFileSync(`src/${file}`, "utf8")));
    expect(tagged.length).toBeGreaterThan(4);
  });

  test("made by concatenation or by a bare template is found, the tag's own is not", () => {
    expect(offending('const row = "<td>" + name + "</td>";')).toHaveLength(1);
    expect(offending(template("const row = `<p>$[PART]</p>`;"))).toHaveLength(1);
    expect(offending(template("const row = html`<p>$[html`<b>$[PART]</b>`]</p>`;"))).toEqual([]);
    expect(offending(template("const row = html`<p>$[`<b>$[PART]`]</p>`;"))).toHaveLength(1);
    expect(offending('option("--book <file>", "the book")')).toEqual([]);
  });
});
