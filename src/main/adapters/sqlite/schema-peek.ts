/**
 * Looks at a book's list of tables and at the trees of their pages before SQLite reads them: SQLite has no limit on the list's length (better-sqlite3 gives
 * none of its own), and pages that name each other again and again make a small file endless. Says what is wrong in a few words, null where
 * nothing is, or where it is no SQLite file at all.
 */
import { childrenOf, type RawPages, varint, viewPage, withRawPages } from "./raw-pages.ts";

/** A book's list has some 30 entries of at most 3 kB, on three pages. */
const MOST_PAGES = 32;
const MOST_ENTRIES = 500;
const MOST_ENTRY_BYTES = 100_000;
/** A sound book has each page once; every version of a page is counted, and a recording that goes on meanwhile may show two. */
const MOST_VISITS = 10;
/**
 * In a long day's book they have more pages than can be looked at when it is opened (80 MB here). Whoever reads them does so row by row, up to
 * a limit.
 */
const FEW_PAGES = 20_000;
const LONG = /^(journal|sample|sqlite_autoindex_journal_1|sqlite_autoindex_sample_1)$/;

const LONG_LIST = "its list of tables is longer than that of any book";

interface Entry {
  readonly name: string;
  readonly root: number;
}

/** Bytes of a value by its type in a record (sqlite.org/fileformat2.html, 2.1). */
const INTEGER_BYTES = [0, 1, 2, 3, 4, 6, 8, 8, 0, 0];
const bytesOf = (type: number) => INTEGER_BYTES[type] ?? Math.floor((type - 12) / 2);

/** Name and root page of an entry: its second and fourth value. */
function entryAt(page: Buffer, cell: number): Entry {
  const [, afterLength] = varint(page, cell);
  const [, record] = varint(page, afterLength);
  const [headerBytes, firstType] = varint(page, record);
  const types: number[] = [];
  for (let at = firstType; at < record + headerBytes && types.length < 4; ) {
    const [type, next] = varint(page, at);
    types.push(type);
    at = next;
  }
  const [kind = 0, name = 0, table = 0, root = 0] = types.map(bytesOf);
  const nameAt = record + headerBytes + kind;
  const rootAt = nameAt + name + table;
  return {
    name: page.toString("utf8", nameAt, nameAt + name),
    root: root >= 1 && root <= 6 && rootAt + root <= page.length ? page.readUIntBE(rootAt, root) : 0,
  };
}

/** Null where the list is too long. */
function entriesOf(pages: RawPages): readonly Entry[] | null {
  const seen = new Set([1]);
  const entries: Entry[] = [];
  let total = 0;
  for (const number of seen) {
    let most = 0;
    for (const page of pages.versions(number)) {
      const { children, rows } = viewPage(page, number);
      if (rows.some((row) => varint(page, row)[0] > MOST_ENTRY_BYTES)) return null;
      most = Math.max(most, rows.length);
      entries.push(...rows.map((row) => entryAt(page, row)));
      for (const child of children) seen.add(child);
      if (seen.size > MOST_PAGES) return null;
    }
    total += most;
    if (total > MOST_ENTRIES) return null;
  }
  return entries;
}

/**
 * How many pages SQLite visits when it reads all below a page, at most over all its versions. One that is above itself counts once: SQLite stops there, as no
 * tree of its own is deeper than twenty pages. Without recursion, as a made-up tree may be.
 */
function visitsOf(pages: RawPages, root: number, known: Map<number, number>): number {
  const begun = new Map<number, readonly (readonly number[])[]>();
  const open = [root];
  for (let number = open.at(-1); number !== undefined; number = open.at(-1)) {
    const versions = begun.get(number);
    if (known.has(number)) open.pop();
    else if (versions === undefined) {
      const below = pages.versions(number).map((page) => childrenOf(page, number as number));
      begun.set(number, below);
      for (const child of new Set(below.flat())) if (!known.has(child) && !begun.has(child)) open.push(child);
    } else {
      open.pop();
      known.set(number, 1 + Math.max(0, ...versions.map((children) => children.reduce((sum, child) => sum + (known.get(child) ?? 1), 0))));
    }
  }
  return known.get(root) ?? 1;
}

function lookAt(pages: RawPages): string | null {
  const entries = entriesOf(pages);
  if (entries === null) return LONG_LIST;
  const known = new Map<number, number>();
  for (const { name, root } of entries) {
    if (root < 1 || (LONG.test(name) && pages.count > FEW_PAGES)) continue;
    if (visitsOf(pages, root, known) > MOST_VISITS * (pages.count + 100))
      return `the pages of ${JSON.stringify(name)} name each other again and again`;
  }
  return null;
}

/** Not for a file that is open in this process: see disk/held-files.ts. */
export const schemaPeek = (path: string): string | null => withRawPages(path, lookAt);
