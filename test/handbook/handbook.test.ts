/**
 * The handbook's chapters say nothing that is not there: pictures as new as their pages, keys as the key map has them, the web pages as the
 * chapters are. What Markdown means is CommonMark's (spec.commonmark.org, 0.31); the rest is the project's own rule, no source.
 */
import { readdirSync, readFileSync, statSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { describe, expect, test } from "vitest";
import { handbookSite } from "../../src/renderer/build/handbook-site.ts";
import { handbookChapter } from "../../src/renderer/build/handbook-tree.ts";
import { picturesOf, readHandbook } from "../../src/renderer/build/read-handbook.ts";
import { readManifest } from "./manifest.ts";
import { PICTURES } from "./pictures.ts";
import { fileHash, sourcesHash, sourcesOf } from "./picture-sources.ts";

const DOCS = fileURLToPath(new URL("../../docs", import.meta.url));
const FOLDER = join(DOCS, "handbook");
const chapters = readHandbook(FOLDER);

describe("pictures of the handbook", () => {
  const manifest = readManifest();
  const names = Object.keys(manifest);

  test("are as new as what draws their pages; npm run handbook:pictures takes them anew", () => {
    const old = names.filter((name) => sourcesHash(manifest[name]!.page) !== manifest[name]!.sources);
    expect(old.map((name) => `${name} is older than the page ${manifest[name]!.page}: npm run handbook:pictures`)).toEqual([]);
  });

  test("are those that were taken, all of them, each shown in a chapter, under 150 kB and 1280 by 720", () => {
    const there = readdirSync(join(FOLDER, "pictures")).filter((name) => name.endsWith(".png"));
    expect(there.sort()).toEqual(PICTURES.map(({ name }) => `${name}.png`).sort());
    expect(names.sort()).toEqual(there);
    expect([...picturesOf(chapters)].sort()).toEqual(there);
    for (const name of there) {
      const file = join(FOLDER, "pictures", name);
      expect(fileHash(file), name).toBe(manifest[name]!.picture);
      expect(statSync(file).size, name).toBeLessThan(150_000);
      // PNG (W3C), 11.2.2: width and height in IHDR.
      const bytes = readFileSync(file);
      expect([bytes.readUInt32BE(16), bytes.readUInt32BE(20)], name).toEqual([1280, 720]);
    }
  });

  test("rest on the page's own code, what it draws with, and its look, and on no other page's", () => {
    const runs = sourcesOf("runs");
    for (const file of ["pages/runs/open-seam.ts", "style/runs.css", "style/tokens.css", "app/head.ts"])
      expect(runs).toContain(`src/renderer/${file}`);
    expect(runs).toContain("src/shared/draw/seam-painter.ts");
    expect(runs.filter((file) => /pages\/(?!runs\/)|key-map|main\//.test(file))).toEqual([]);
  });
});

describe("chapters of the handbook", () => {
  test("are ten to twelve, each one to two screens long", () => {
    expect(chapters.length).toBeGreaterThanOrEqual(10);
    expect(chapters.length).toBeLessThanOrEqual(12);
    for (const { name } of chapters) {
      const words = readFileSync(join(FOLDER, `${name}.md`), "utf8").split(/\s+/).length;
      expect(words, name).toBeGreaterThan(150);
      expect(words, name).toBeLessThan(800);
    }
  });

  test("become elements and text; what a person wrote as text stays text", () => {
    const made = handbookChapter(
      "x",
      "# A & B\n\nPress `F1`, **now** & *then*: [see](x.md).\n\n1. one\n2. two `<b>`\n\n![a picture](pictures/a.png)\n",
    );
    expect(made.title).toBe("A & B");
    expect(made.pieces).toEqual([
      {
        tag: "p",
        children: [
          "Press ",
          { tag: "code", children: ["F1"] },
          ", ",
          { tag: "b", children: ["now"] },
          " & ",
          { tag: "em", children: ["then"] },
          ": ",
          { chapter: "x", words: "see" },
          ".",
        ],
      },
      {
        tag: "ol",
        children: [
          { tag: "li", children: ["one"] },
          { tag: "li", children: ["two ", { tag: "code", children: ["<b>"] }] },
        ],
      },
      { picture: "a.png", words: "a picture" },
    ]);
  });

  test.each([
    ["no title", "Text"],
    ["HTML", "# A\n\n<script>alert(1)</script>"],
    ["HTML in a line", "# A\n\nText <img src=x>"],
    ["an address outside", "# A\n\n[there](https://example.org)"],
    ["a picture from elsewhere", "# A\n\n![x](../secret.png)"],
    ["a picture without words", "# A\n\n![](pictures/a.png)"],
    ["a block of code", "# A\n\n    code"],
  ])("refuse %s, with the file's name", (_, markdown) => {
    expect(() => handbookChapter("x", markdown)).toThrow(/^docs\/handbook\/x\.md: /);
  });

  test("stand in docs/site as they are; npm run handbook writes them anew", () => {
    const site = handbookSite(chapters);
    const there = Object.fromEntries(readdirSync(join(DOCS, "site")).map((name) => [name, readFileSync(join(DOCS, "site", name), "utf8")]));
    expect(there, "npm run handbook").toEqual(site);
  });
});
