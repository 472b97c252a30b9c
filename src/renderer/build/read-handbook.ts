/**
 * The handbook's chapters in the order in which docs/handbook/README.md lists them. A chapter or a picture that is named and missing, or there
 * and not named, throws.
 */
import { existsSync, readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { type HandbookChapter, type HandbookPiece, handbookChapter } from "./handbook-tree.ts";

const LISTED = /^\d+\. \[[^\]]+\]\(([a-z0-9-]+)\.md\)/gm;

function named(pieces: readonly HandbookPiece[], kind: "picture" | "chapter"): string[] {
  return pieces.flatMap((piece) => {
    if (typeof piece === "string") return [];
    if ("children" in piece) return named(piece.children, kind);
    return kind in piece ? [(piece as unknown as Record<string, string>)[kind] ?? ""] : [];
  });
}

/** File names of all pictures that the chapters show, each once. */
export const picturesOf = (chapters: readonly HandbookChapter[]): readonly string[] => [
  ...new Set(chapters.flatMap((chapter) => named(chapter.pieces, "picture"))),
];

export function readHandbook(folder: string): readonly HandbookChapter[] {
  const list = [...readFileSync(join(folder, "README.md"), "utf8").matchAll(LISTED)].map(([, name]) => name as string);
  const there = readdirSync(folder).filter((name) => name.endsWith(".md") && name !== "README.md");
  const unlisted = there.find((name) => !list.includes(name.slice(0, -3)));
  if (unlisted !== undefined) throw new Error(`docs/handbook/README.md: list ${unlisted}, as a numbered line: 1. [Title](${unlisted})`);
  const chapters = list.map((name) => handbookChapter(name, readFileSync(join(folder, `${name}.md`), "utf8")));
  for (const { name, pieces } of chapters) {
    const lost = named(pieces, "chapter").find((other) => !list.includes(other));
    if (lost !== undefined) throw new Error(`docs/handbook/${name}.md: ${lost}.md is no chapter of README.md`);
    const missing = named(pieces, "picture").find((picture) => !existsSync(join(folder, "pictures", picture)));
    if (missing !== undefined)
      throw new Error(`docs/handbook/${name}.md: pictures/${missing} is missing; npm run handbook:pictures takes it`);
  }
  return chapters;
}
