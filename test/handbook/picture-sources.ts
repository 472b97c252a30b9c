/**
 * What draws the page of a picture, as one hash: the page's own code with the figures and painters that it imports, the head and the look that all
 * pages share, and the page's styles. Comments and line breaks do not count, and neither does the rest of the program: a picture shall be taken anew
 * when the page may look different, not at every commit.
 */
import { createHash } from "node:crypto";
import { globSync, readFileSync } from "node:fs";
import { dirname, join, normalize } from "node:path";
import { fileURLToPath } from "node:url";
import { transformSync } from "@swc/core";
import type { PageName } from "../../src/renderer/screen/page-name.ts";

const ROOT = fileURLToPath(new URL("../..", import.meta.url));
const STYLE = "src/renderer/style";
/** Styles of all pages; Drive has no head, but the same letters and buttons. */
const COMMON = [`${STYLE}/tokens.css`, `${STYLE}/components.css`, `${STYLE}/frame.css`, "src/renderer/app/head.ts"];
const STYLES: Readonly<Record<PageName, readonly string[]>> = {
  car: ["car"],
  wiring: ["wiring"],
  before: ["before"],
  drive: ["drive", "drive-labels", "drive-screens"],
  runs: ["runs", "run-aside"],
  compare: ["judge"],
  lost: ["judge", "lost"],
  plan: ["judge", "plan"],
  report: ["judge"],
};
/** The rooms whose code draws; requests, keys, numbers and saved tables are elsewhere. */
const DRAWS = /^src\/(renderer\/(pages|figures|draw|live)|shared\/draw)\/|^src\/shared\/report\/report-/;
const IMPORTED = /\bfrom "(\.[^"]+\.ts)"/g;

const read = (file: string) => readFileSync(join(ROOT, file), "utf8");

/** The files, with all that they import from the rooms that draw. */
function withImports(files: readonly string[]): readonly string[] {
  const found = new Set<string>();
  const waiting = [...files];
  for (let file = waiting.pop(); file !== undefined; file = waiting.pop()) {
    if (found.has(file)) continue;
    found.add(file);
    const imported = [...read(file).matchAll(IMPORTED)].map(([, to]) => normalize(join(dirname(file), to as string)));
    waiting.push(...imported.filter((one) => DRAWS.test(one)));
  }
  return [...found];
}

/** The same for the same behaviour: types, comments and line breaks are gone. */
function meaning(file: string): string {
  const source = read(file);
  if (file.endsWith(".css")) return source.replace(/\/\*[\s\S]*?\*\//g, "").replace(/\s+/g, " ");
  return transformSync(source, { jsc: { parser: { syntax: "typescript" }, target: "es2023" }, minify: true }).code;
}

/** Files behind a page's picture, in the order of their names. */
export function sourcesOf(page: PageName): readonly string[] {
  const own = globSync(`src/renderer/pages/${page}/*.ts`, { cwd: ROOT });
  // Report shows paper, which the domain draws.
  const paper = page === "report" ? globSync("src/shared/report/report-*.ts", { cwd: ROOT }) : [];
  return [...withImports([...own, ...paper]), ...COMMON, ...STYLES[page].map((name) => `${STYLE}/${name}.css`)].sort();
}

export function sourcesHash(page: PageName): string {
  const hash = createHash("sha256");
  for (const file of sourcesOf(page)) hash.update(file).update("\0").update(meaning(file)).update("\0");
  return hash.digest("hex").slice(0, 16);
}

export const fileHash = (file: string): string => createHash("sha256").update(readFileSync(file)).digest("hex").slice(0, 16);
