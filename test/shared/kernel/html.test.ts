/**
 * The escaping tag, read back by independent parsers: Python's html.parser and XML parser. Which characters must be escaped: OWASP, Cross
 * Site Scripting Prevention Cheat Sheet.
 */
import { spawnSync } from "node:child_process";
import fc from "fast-check";
import { expect, test } from "vitest";
import { html, joined } from "../../../src/shared/kernel/html.ts";

const signs = fc.string({ unit: fc.constantFrom(..."<>\"'&;/= aZ0`\u00e9"), maxLength: 30 });

test("html`` gives text back as it was, between tags and in quoted attributes, and never an element of its own", () => {
  const drawn = fc.sample(signs, 300);
  const pages = drawn.map((text) => String(html`<p title="${text}" lang='${text}'>${text}</p>`));
  const script = `
import json, sys
from html.parser import HTMLParser
import xml.etree.ElementTree as E
class P(HTMLParser):
  def __init__(self):
    super().__init__(convert_charrefs=True); self.tags = []; self.text = ""
  def handle_starttag(self, tag, attrs): self.tags.append([tag, dict(attrs)])
  def handle_data(self, data): self.text += data
out = []
for page in json.load(sys.stdin):
  p = P(); p.feed(page); p.close()
  x = E.fromstring(page)
  out.append([p.tags, p.text, x.tag, x.attrib, x.text or "", len(list(x))])
print(json.dumps(out))`;
  const { status, stdout, error } = spawnSync("/usr/bin/python3", ["-c", script], { input: JSON.stringify(pages), encoding: "utf8" });
  if (error) return console.log(`skipped: check by Python, because ${error.message}`);
  expect(status).toBe(0);
  JSON.parse(stdout).forEach((seen: unknown, i: number) => {
    const text = drawn[i] as string;
    const attributes = { title: text, lang: text };
    expect(seen).toEqual([[["p", attributes]], text, "p", attributes, text, 0]);
  });
});

test("only what the tag made is markup: an object from a book that looks like it is text", () => {
  const forged = JSON.parse('{"text": "<b>", "markup": "<b>"}');
  expect(String(html`${forged as string}`)).toBe("[object Object]");
  expect(String(html`<i>${html`<b>${"<u>"}</b>`}</i>`)).toBe("<i><b>&lt;u&gt;</b></i>");
  expect(String(html`${[1, "&", null, undefined, false, [html`<br>`]]}`)).toBe("1&amp;<br>");
  expect(String(joined(["a<", "b"], html`<br>`))).toBe("a&lt;<br>b");
});
