/**
 * One word for one thing in every sentence that reaches people: screens, paper, command line, README and docs. The list is the project's
 * own (its wording is judged by readers whose second language is English); no published source. Comments do not count.
 */
import { readdirSync, readFileSync } from "node:fs";
import { parseSync } from "@swc/core";
import { describe, expect, test } from "vitest";

/** What must not be said, and what to say. */
const INSTEAD: readonly (readonly [RegExp, string])[] = [
  [/\bfree wheels\b/i, "undriven wheels"],
  [/\b(?:motor|inverter|battery) heat\b/i, "motor temperature ..."],
  [/\bpartner\b/i, "passenger, or return run"],
  [/\bcentre height\b/i, "height of the centre of gravity"],
  [/\bor its radius\b/i, "or rolling radius"],
  [/\bclock fit\b/i, "clocks"],
  [/\bsigns right\b/i, "signs of speed and torque"],
  [/\bdriven out as\b/i, "first direction"],
  [/\bhoped\b/i, "expected difference"],
  [/\bmotor below\b/i, "motor temperature, most"],
  [/\bas it narrows\b/i, "precision so far"],
  [/\bwhere the launch(?:es)? went\b/i, "slip and torque held back"],
  [/\bparts? (?:the groups|the means|them)\b/i, "give a difference this large"],
  [/\bon trust\b/i, "assumes"],
  [/\bhow surely\b/i, "confidence"],
  [/\bstatement (?:of|about) road safety\b/i, "says nothing about road safety"],
  [/\bthe tool\b/i, "Gripbook"],
  [/\btells nothing of\b/i, "no information"],
  [/\bmend(?:s|ed|ing)?\b/i, "fix, correct, repair"],
  [/\bturns a sign\b/i, "reverse its sign"],
  [/\b(?:not|until they are) built\b/i, "not supported yet"],
  [/\bby lot\b|\bthe lot\b/i, "at random"],
  [/\btak(?:e|en|es) (?:\S+ ){0,2}back\b/i, "use again (a run), withdraw (a note), undo (an edit)"],
  [/\bleast chance\b/i, "smallest chance"],
  [/\bnearly balanced\b/i, "nearly drift-balanced"],
  [/\b(?:epochs|frames) (?:a|each|per) second\b/i, "Hz, frames/s"],
  [/\bdemand\b|\brequested torque\b/i, "asked torque"],
  [/\bspoiled\b/i, "damaged"],
  [/\bhardness\b|\btimes as hard\b/i, "strength"],
  [/\bswings?\b/i, "oscillates"],
  [/\bgive or take\b/i, "±"],
  [/\bstitches\b/i, "marks"],
  [/\bgates? of (?:your|one['’]s) own\b/i, "own gates"],
  [/\bin force\b/i, "present, in use"],
];

/** A text of a program that may be shown: more than one word, or a word with a capital. Not code of another language. */
const isShown = (text: string) =>
  /[A-Za-z]{2}/.test(text) && (/ /.test(text) || /^[A-Z][a-z]/.test(text)) && !/^\s*(?:SELECT|INSERT|UPDATE|DELETE|CREATE)\b/.test(text);

function textsOf(node: unknown): string[] {
  if (typeof node !== "object" || node === null) return [];
  if (Array.isArray(node)) return node.flatMap(textsOf);
  const { type, value, quasis } = node as { type?: string; value?: unknown; quasis?: { cooked?: string; raw: string }[] };
  if (type === "ImportDeclaration" || type === "ExportNamedDeclaration") return [];
  const own =
    type === "StringLiteral" && typeof value === "string"
      ? [value]
      : type === "TemplateLiteral" && quasis !== undefined
        ? [quasis.map((quasi) => quasi.cooked ?? quasi.raw).join("…")]
        : [];
  return [...own.filter(isShown), ...Object.values(node).flatMap(textsOf)];
}

/** A file is called what it is called. */
const FILE_NAME = /`[^`\n]+\.ts`/g;

const filesUnder = (folder: string, ending: string) =>
  readdirSync(folder, { recursive: true, encoding: "utf8" })
    .filter((name) => name.endsWith(ending))
    .map((name) => `${folder}/${name}`);

const faultsIn = (where: string, texts: readonly string[]) =>
  texts.flatMap((text) =>
    INSTEAD.filter(([pattern]) => pattern.test(text)).map(
      ([pattern, better]) => `${where}: "${pattern.exec(text)?.[0]}" in "${text.slice(0, 120)}"; say: ${better}`,
    ),
  );

describe("one word for one thing", () => {
  test("no sentence of the program uses a word of the list", () => {
    const files = filesUnder("src", ".ts");
    const faults = files.flatMap((file) => faultsIn(file, textsOf(parseSync(readFileSync(file, "utf8"), { syntax: "typescript" }))));
    expect(files.length).toBeGreaterThan(600);
    expect(faults).toEqual([]);
  });

  test("nor does README or a page of docs", () => {
    const pages = ["README.md", ...filesUnder("docs", ".md")];
    expect(pages.length).toBeGreaterThan(10);
    expect(pages.flatMap((page) => faultsIn(page, readFileSync(page, "utf8").replace(FILE_NAME, "").split("\n")))).toEqual([]);
  });

  test("the check bites: two known sentences are found", () => {
    const source = 'const told = ["Motor heat", `drawn by lot from $' + '{1} orders`, "ok"]; // by lot';
    expect(faultsIn("x", textsOf(parseSync(source, { syntax: "typescript" })))).toHaveLength(2);
  });
});
