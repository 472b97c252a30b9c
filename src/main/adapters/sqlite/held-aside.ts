/**
 * What a recording could not put into its book until the end (a full disk), kept in a file elsewhere until the book can take it: lines of JSON, one a commit,
 * each block of packets under its CRC-32. A file that cannot be written goes to the next folder; one that is spoiled throws BookError naming it.
 */
import { createHash } from "node:crypto";
import { existsSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { crc32 } from "node:zlib";
import { BookError, type JournalEntry } from "../../ports/book.ts";
import { foldersNear } from "./file-beside.ts";
import { decodeBlock, encodeBlock } from "./journal-block.ts";

/** A recording's uid may be anybody's text: only its hash becomes a name. */
const nameOf = (uid: string) => `gripbook-held-${createHash("sha256").update(uid).digest("hex").slice(0, 16)}.jsonl`;

interface Line extends Omit<JournalEntry, "packets"> {
  readonly fromNs: number;
  readonly crc32: number;
  /** A block as in the journal, base 64. */
  readonly block: string;
}

function toLine({ packets, ...rest }: JournalEntry): string {
  const block = encodeBlock(packets);
  return `${JSON.stringify({ ...rest, fromNs: packets[0]?.arrivalNs ?? 0, crc32: crc32(block), block: block.toString("base64") } satisfies Line)}\n`;
}

function fromLine(text: string): JournalEntry {
  const { fromNs, crc32: sum, block, ...rest } = JSON.parse(text) as Line;
  const bytes = Buffer.from(block, "base64");
  if (crc32(bytes) !== sum) throw new RangeError("its bytes are not those that were written");
  return { ...rest, packets: [...decodeBlock(bytes, fromNs)] };
}

/** Gives the file. `flush` makes it durable before this returns. */
export function keepAside(bookFile: string, uid: string, entries: readonly JournalEntry[]): string {
  let why: unknown;
  for (const folder of foldersNear(bookFile)) {
    const file = join(folder, nameOf(uid));
    try {
      writeFileSync(file, entries.map(toLine).join(""), { flag: "wx", mode: 0o600, flush: true });
      return file;
    } catch (error) {
      why = error;
      // What stands there under this name is an earlier part of the same recording; a part that did not fit is of no use.
      if ((error as { code?: unknown }).code !== "EEXIST") rmSync(file, { force: true });
    }
  }
  throw new BookError("full", `no other place can be written either, ${foldersNear(bookFile).join(", ")}`, { cause: why });
}

export interface Aside {
  readonly file: string;
  readonly entries: readonly JournalEntry[];
}

const spoiled = (file: string, cause: unknown) =>
  new BookError(
    "damaged",
    `File ${file}, which held what a full disk kept out of the book, is spoiled (${String(cause)}); what is in the book is safe`,
    {
      cause,
    },
  );

/** Null where nothing was kept aside for the recording. */
export function findAside(bookFile: string, uid: string): Aside | null {
  const file = foldersNear(bookFile)
    .map((folder) => join(folder, nameOf(uid)))
    .find((path) => existsSync(path));
  if (file === undefined) return null;
  try {
    return { file, entries: readFileSync(file, "utf8").trimEnd().split("\n").map(fromLine) };
  } catch (error) {
    throw spoiled(file, error);
  }
}
