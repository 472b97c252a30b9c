/**
 * Books written by earlier Gripbooks, each by the last commit with its schema: the same simulated drive of two launches, imported,
 * labelled, reviewed, with an own gate.
 */
import { readFileSync, writeFileSync } from "node:fs";
import { brotliDecompressSync } from "node:zlib";

const FOLDER = new URL("../fixtures/books/", import.meta.url);

/** What `show all --json` of that Gripbook said of its runs. */
export interface ShownRun {
  readonly id: number;
  readonly uid: string;
  readonly label: string;
  readonly startedAt: string;
  readonly use: boolean;
  readonly note: string;
  readonly conditions: Readonly<Record<string, string>>;
  /** By "gate, start". */
  readonly seconds: Readonly<Record<string, number>>;
}

export const STORED_VERSIONS = [1, 2, 3, 4, 5, 6] as const;

export function unpackBook(version: (typeof STORED_VERSIONS)[number], file: string): string {
  writeFileSync(file, brotliDecompressSync(readFileSync(new URL(`version-${version}.gripbook.br`, FOLDER))));
  return file;
}

export function shownBy(version: (typeof STORED_VERSIONS)[number]): readonly ShownRun[] {
  const shown = JSON.parse(readFileSync(new URL("as-shown.json", FOLDER), "utf8")) as Record<string, ShownRun[]>;
  return shown[version] ?? [];
}
