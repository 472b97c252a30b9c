/**
 * Files elsewhere for the part of a recording that could not be stored in its book (a full disk), until the book can take it: at most one
 * in each folder. The first line says whose they are; then one line for each commit, behind its CRC-32, with the numbers of its packets. A
 * last line that was torn off by a kill is left out; another damaged one is named, and reading goes on after it.
 */
import { createHash } from "node:crypto";
import { closeSync, fstatSync, lstatSync, readSync } from "node:fs";
import { join } from "node:path";
import { crc32 } from "node:zlib";
import { addToFile, beginGrowingFile } from "../../disk/growing-file.ts";
import { openPlainFile } from "../../disk/read-file.ts";
import { BookError, type JournalEntry } from "../../ports/book.ts";
import { foldersNear } from "./file-beside.ts";
import { decodeBlock, encodeBlock } from "./journal-block.ts";

/** A recording's uid may be any text, so only its hash is used in the name. */
const nameOf = (uid: string) => `gripbook-held-${createHash("sha256").update(uid).digest("hex").slice(0, 16)}.jsonl`;
const CHUNK_BYTES = 2 ** 18;
/** Longer than any line that is written. */
const MOST_LINE_BYTES = 128 * 2 ** 20;

/** One commit. `gnss` and `can`: how many packets of each stream the recording had before it. */
export interface KeptEntry extends JournalEntry {
  readonly gnss: number;
  readonly can: number;
  /** The recording was closed with it. */
  readonly ends: boolean;
}

interface Line extends Omit<KeptEntry, "packets"> {
  readonly fromNs: number;
  /** A block as in the journal, in base 64. */
  readonly block: string;
}

function lineOf(value: unknown): string {
  const json = JSON.stringify(value);
  return `${crc32(json).toString(16).padStart(8, "0")} ${json}\n`;
}

function toLine({ packets, ...rest }: KeptEntry): string {
  return lineOf({ ...rest, fromNs: packets[0]?.arrivalNs ?? 0, block: encodeBlock(packets).toString("base64") } satisfies Line);
}

/** What stands in a line; null where it is damaged. */
function fromLine<T>(text: string): T | null {
  const json = text.slice(9);
  return crc32(json) === Number.parseInt(text.slice(0, 8), 16) ? (JSON.parse(json) as T) : null;
}

function toEntry(text: string): KeptEntry | null {
  const line = fromLine<Line>(text);
  if (line === null) return null;
  const { fromNs, block, ...rest } = line;
  return { ...rest, packets: [...decodeBlock(Buffer.from(block, "base64"), fromNs)] };
}

export interface Keeping {
  readonly bookFile: string;
  readonly uid: string;
  /** In the order they were written. */
  files: readonly string[];
}

/** Gives the file that holds them now. Where the present one takes no more, the next folder is used. */
export function keepAside(keeping: Keeping, entries: readonly KeptEntry[]): string {
  const { bookFile, uid, files } = keeping;
  const bytes = Buffer.from(entries.map(toLine).join(""));
  const places = foldersNear(bookFile).map((folder) => join(folder, nameOf(uid)));
  const present = files.at(-1);
  let why: unknown;
  for (const file of places.slice(present === undefined ? 0 : places.indexOf(present))) {
    try {
      if (file === present) addToFile(file, bytes);
      else {
        beginGrowingFile(file, Buffer.concat([Buffer.from(lineOf({ recording: uid })), bytes]));
        keeping.files = [...files, file];
      }
      return file;
    } catch (error) {
      why = error;
    }
  }
  throw new BookError("full", `no other place can be written either, ${foldersNear(bookFile).join(", ")}`, { cause: why });
}

/** Somebody else may write in the temporary folder too: only this person's own plain files count. */
function isOwn(file: string): boolean {
  const stat = lstatSync(file, { throwIfNoEntry: false });
  return stat?.isFile() === true && (process.getuid === undefined || stat.uid === process.getuid());
}

/** The files that hold a part of the recording. */
export const findAside = (bookFile: string, uid: string): string[] =>
  foldersNear(bookFile)
    .map((folder) => join(folder, nameOf(uid)))
    .filter(isOwn);

/** Whole lines from a place on, each with the place after it. Each byte is looked at once, however long a line is. */
function* linesFrom(handle: number, from: number): Generator<{ text: string; next: number }> {
  const { size } = fstatSync(handle);
  let [at, parts, partsBytes]: [number, Buffer[], number] = [from, [], 0];
  while (at < size && partsBytes <= MOST_LINE_BYTES) {
    const bytes = Buffer.alloc(Math.min(CHUNK_BYTES, size - at));
    const chunk = bytes.subarray(0, readSync(handle, bytes, 0, bytes.length, at));
    if (chunk.length === 0) return;
    let begin = 0;
    for (let end = chunk.indexOf(10); end >= 0; end = chunk.indexOf(10, begin)) {
      const text = Buffer.concat([...parts, chunk.subarray(begin, end)]).toString("utf8");
      begin = end + 1;
      [parts, partsBytes] = [[], 0];
      yield { text, next: at + begin };
    }
    parts.push(chunk.subarray(begin));
    partsBytes += chunk.length - begin;
    at += chunk.length;
  }
}

export interface ReadLine {
  /** Null: the line is damaged. */
  readonly entry: KeptEntry | null;
  /** Where the next one begins. */
  readonly next: number;
}

/** `from` is 0 or what `next` said. A file of another recording has no lines. */
export function* readAside(file: string, uid: string, from: number): Generator<ReadLine> {
  const handle = openPlainFile({ file, what: "File" });
  let isFirst = from === 0;
  try {
    for (const { text, next } of linesFrom(handle, from)) {
      if (!isFirst) yield { entry: toEntry(text), next };
      else if (fromLine<{ recording?: unknown }>(text)?.recording !== uid) return;
      isFirst = false;
    }
  } finally {
    closeSync(handle);
  }
}
