/**
 * Pages of a book's file and of the log beside it, as they are on the disk, before SQLite reads any of them (sqlite.org/fileformat2.html, 1.3, 1.6, 4.1).
 * What is damaged has no children. Not for a file that is open in this process: see disk/held-files.ts.
 */
import { closeSync, fstatSync, openSync, readSync } from "node:fs";

const HEADER_BYTES = 100;
const FRAME_HEADER_BYTES = 24;
const WAL_HEADER_BYTES = 32;
const SMALLEST_PAGE = 512;
/** Pages of tables and of indexes: inner ones name others, leaves hold rows. */
const INNER: ReadonlySet<number | undefined> = new Set([2, 5]);
const LEAVES: ReadonlySet<number | undefined> = new Set([10, 13]);
/** Frames after which the log is no longer looked through: twenty times what is let grow before a checkpoint. */
const MOST_FRAMES = 1_000_000;

/** Pages that are read at once: most of those below a page stand beside each other. */
const PAGES_READ = 64;

export interface RawPages {
  /** As many as the file and the log have. */
  readonly count: number;
  /** Every version of a page: SQLite takes one of them. Good until the next page is asked for. */
  versions(number: number): Buffer[];
}

function readAt(handle: number, at: number, length: number): Buffer {
  const bytes = Buffer.alloc(length);
  return bytes.subarray(0, readSync(handle, bytes, 0, length, at));
}

/** Every place of a page in the log. */
function framesOf(wal: number, pageBytes: number): Map<number, number[]> {
  const places = new Map<number, number[]>();
  const salt = readAt(wal, 16, 8);
  for (let frame = 0, at = WAL_HEADER_BYTES; frame < MOST_FRAMES; frame += 1, at += FRAME_HEADER_BYTES + pageBytes) {
    const header = readAt(wal, at, FRAME_HEADER_BYTES);
    // The first that is not of this log ends it.
    if (header.length < FRAME_HEADER_BYTES || !header.subarray(8, 16).equals(salt)) break;
    const page = header.readUInt32BE(0);
    const known = places.get(page);
    if (known === undefined) places.set(page, [at + FRAME_HEADER_BYTES]);
    else known.push(at + FRAME_HEADER_BYTES);
  }
  return places;
}

/** Pages of the file, read many at once into the same memory. */
function pageReader(file: number, pageBytes: number): (number: number) => Buffer {
  const bytes = Buffer.allocUnsafe(PAGES_READ * pageBytes);
  let first = Number.NaN;
  let length = 0;
  return (number) => {
    // None has the number 0; what is made up may name it.
    if (number < 1) return bytes.subarray(0, 0);
    const from = number - 1 - ((number - 1) % PAGES_READ);
    if (from !== first) {
      length = readSync(file, bytes, 0, bytes.length, from * pageBytes);
      first = from;
    }
    const at = (number - 1 - from) * pageBytes;
    return bytes.subarray(Math.min(at, length), Math.min(at + pageBytes, length));
  };
}

function opened(file: string): number | null {
  try {
    return openSync(file, "r");
  } catch {
    // What keeps it from being read, SQLite's own opening says, with the remedy.
    return null;
  }
}

function pagesOf(file: number, wal: number | null): RawPages | null {
  const header = readAt(file, 0, HEADER_BYTES);
  if (header.length < HEADER_BYTES || !header.subarray(0, 16).equals(Buffer.from("SQLite format 3\0", "latin1"))) return null;
  const size = header.readUInt16BE(16);
  const pageBytes = size === 1 ? 65_536 : size;
  if (pageBytes < SMALLEST_PAGE) return null;
  const frames = wal === null ? new Map<number, number[]>() : framesOf(wal, pageBytes);
  const bytes = fstatSync(file).size + (wal === null ? 0 : fstatSync(wal).size);
  const pageAt = pageReader(file, pageBytes);
  return {
    count: Math.ceil(bytes / pageBytes),
    versions(number) {
      const inLog = wal === null ? [] : (frames.get(number) ?? []).map((at) => readAt(wal, at, pageBytes));
      return [pageAt(number), ...inLog];
    },
  };
}

/** Null where it is no SQLite file, or cannot be read. */
export function withRawPages<T>(path: string, work: (pages: RawPages) => T): T | null {
  const file = opened(path);
  const wal = opened(`${path}-wal`);
  try {
    const pages = file === null ? null : pagesOf(file, wal);
    return pages === null ? null : work(pages);
  } finally {
    for (const handle of [file, wal]) if (handle !== null) closeSync(handle);
  }
}

/** A varint's value and the place behind it; it ends by nine bytes. */
export function varint(page: Buffer, at: number): [value: number, next: number] {
  let value = 0;
  let i = 0;
  for (; i < 9; i += 1) {
    const byte = page[at + i] ?? 0;
    value = value * 128 + (byte & 0x7f);
    if (byte < 0x80) return [value, at + i + 1];
  }
  return [value, at + i];
}

export interface PageView {
  readonly children: readonly number[];
  /** Where the rows of a leaf begin. */
  readonly rows: readonly number[];
}

const NONE: PageView = { children: [], rows: [] };

/** The pages that an inner page names, without the rows of a leaf. */
export const childrenOf = (page: Buffer, number: number): readonly number[] =>
  LEAVES.has(page[number === 1 ? HEADER_BYTES : 0]) ? NONE.children : viewPage(page, number).children;

export function viewPage(page: Buffer, number: number): PageView {
  const from = number === 1 ? HEADER_BYTES : 0;
  const kind = page[from];
  const isInner = INNER.has(kind);
  if (page.length < from + 12 || (!isInner && !LEAVES.has(kind))) return NONE;
  const count = page.readUInt16BE(from + 3);
  const first = from + (isInner ? 12 : 8);
  const cells = Array.from({ length: Math.min(count, Math.floor((page.length - first) / 2)) }, (_, i) => page.readUInt16BE(first + 2 * i));
  if (!isInner) return { children: [], rows: cells };
  const children = cells.filter((cell) => cell + 4 <= page.length).map((cell) => page.readUInt32BE(cell));
  return { children: [...children, page.readUInt32BE(from + 8)], rows: [] };
}
