/** The book on real files: durability settings on every connection, journal round trip, faults named, nothing deleted. Sources: sqlite.org/pragma.html, wal.html. */
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import * as fc from "fast-check";
import { afterEach, beforeEach, expect, test } from "vitest";
import { advanceLineClock, NO_LINES } from "../../../../src/main/adapters/sqlite/line-clock.ts";
import { decodeBlock, encodeBlock } from "../../../../src/main/adapters/sqlite/journal-block.ts";
import { fromExactJson, toExactJson } from "../../../../src/main/adapters/sqlite/exact-json.ts";
import { openConnection } from "../../../../src/main/adapters/sqlite/sqlite-connection.ts";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import type { Packet } from "../../../../src/shared/pipeline/packet.ts";
import { START, runWrite } from "./book-run.fixture.ts";

let folder = "";
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const packet = (stream: Packet["stream"], us: number, text: string): Packet => ({
  stream,
  arrivalNs: us * 1000,
  bytes: Buffer.from(text, "latin1"),
});
const entry = (packets: Packet[]) => ({ packets, marks: [], gaps: [], clock: [] });
test("journalBlock gives back any packets byte for byte", () => {
  const arbitrary = fc.array(fc.record({ can: fc.boolean(), stepUs: fc.nat(5_000_000), bytes: fc.uint8Array({ maxLength: 300 }) }));
  fc.assert(
    fc.property(arbitrary, fc.nat(2 ** 40), (items, fromUs) => {
      let us = fromUs;
      const packets = items.map(({ can, stepUs, bytes }): Packet => {
        us += stepUs;
        return { stream: can ? "can" : "gnss", arrivalNs: us * 1000, bytes };
      });
      const back = [...decodeBlock(encodeBlock(packets), packets[0]?.arrivalNs ?? 0)];
      expect(back.map((p) => ({ ...p, bytes: [...p.bytes] }))).toEqual(packets.map((p) => ({ ...p, bytes: [...p.bytes] })));
    }),
  );
});

test("lineClock ends at the same line however the bytes are cut", () => {
  const text = "$GNRMC,1\r\n$GNGGA,2\r\npart";
  fc.assert(
    fc.property(fc.array(fc.nat(text.length), { maxLength: 6 }), (cuts) => {
      const edges = [...new Set([0, ...cuts, text.length])].sort((a, b) => a - b);
      const packets = edges.slice(0, -1).map((from, i) => packet("gnss", from, text.slice(from, edges[i + 1])));
      // The packet that holds the first byte of "part", the last line.
      const holder = Math.max(...edges.filter((edge) => edge <= text.indexOf("part")));
      expect(advanceLineClock(NO_LINES, packets).lineNs).toBe(holder * 1000);
    }),
  );
});

test("exactJson gives every number back to the bit", () => {
  const value = { a: [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY, Number.NaN, -0, 0.1 + 0.2, null], b: { c: 5e-324 } };
  expect(fromExactJson(toExactJson(value))).toStrictEqual(value);
});

test("openConnection takes synchronous=FULL and foreign keys on a reopened file, where the driver alone would take NORMAL", () => {
  const file = join(folder, "a.gripbook");
  openConnection({ file, create: true }).db.close();
  const bare = new Database(file);
  const bareLevel = bare.pragma("synchronous", { simple: true });
  bare.close();
  const { db } = openConnection({ file, create: false });
  expect(bareLevel).toBe(1);
  expect(db.pragma("synchronous", { simple: true })).toBe(2);
  expect(db.pragma("foreign_keys", { simple: true })).toBe(1);
  expect(db.pragma("trusted_schema", { simple: true })).toBe(0);
  expect(db.pragma("journal_mode", { simple: true })).toBe("wal");
  db.close();
});

test("openSqliteBook refuses what is no book, and a missing one, in one line that names the file", () => {
  const text = join(folder, "notes.txt");
  writeFileSync(text, "not a database at all, but long enough to be read as one. ".repeat(20));
  expect(() => openSqliteBook({ file: text, create: false })).toThrow(/^Book .*notes\.txt: no SQLite file/);
  const other = join(folder, "other.db");
  const db = new Database(other);
  db.exec("CREATE TABLE t (a)");
  db.close();
  expect(() => openSqliteBook({ file: other, create: true })).toThrow(/other\.db: an SQLite file, but no book/);
  expect(() => openSqliteBook({ file: join(folder, "absent.gripbook"), create: false })).toThrow(/absent\.gripbook: not found/);
  expect(() => openSqliteBook({ file: join(folder, "no", "such", "a.gripbook"), create: true })).toThrow(/cannot be opened in .*such/);
});

test("book keeps packets of both streams in order with hole-free numbers, and the end of its last line", () => {
  const book = openSqliteBook({ file: join(folder, "a.gripbook"), create: true });
  const { id } = book.startRecording(START);
  const first = [packet("gnss", 100, "$GN"), packet("can", 101, "t1230\r")];
  const second = [packet("gnss", 200, "RMC\r\n"), packet("can", 250, "t1240\r"), packet("gnss", 251, "\r")];
  book.append(id, {
    packets: first,
    marks: [{ tS: 0.0001, kind: "arm", text: "" }],
    gaps: [],
    clock: [{ atNs: 100_000, utcUs: START.baseUtcUs + 100 }],
  });
  book.append(id, { packets: second, marks: [], gaps: [{ stream: "can", fromNs: 5000, toNs: 9000, cause: "unplugged" }], clock: [] });
  expect([...book.packets(id)].map((p) => ({ ...p, bytes: Buffer.from(p.bytes).toString() }))).toEqual(
    [...first, ...second].map((p) => ({ ...p, bytes: Buffer.from(p.bytes).toString() })),
  );
  book.closeRecording(id, "closed");
  expect(book.recording(id)).toMatchObject({ ...START, id, state: "closed", endNs: 250_000, derived: false });
  expect(book.marks(id)).toEqual([{ tS: 0.0001, kind: "arm", text: "" }]);
  expect(book.gaps(id)).toEqual([{ stream: "can", fromNs: 5000, toNs: 9000, cause: "unplugged" }]);
  expect(book.clockSamples(id)).toEqual([{ atNs: 100_000, utcUs: START.baseUtcUs + 100 }]);
  expect(book.journalFaults(id)).toEqual([]);
  book.close();
});

test("journalFaults names a missing block and a changed byte", () => {
  const file = join(folder, "a.gripbook");
  const book = openSqliteBook({ file, create: true });
  const { id } = book.startRecording(START);
  for (let i = 0; i < 4; i += 1) book.append(id, entry([packet("can", i * 100, "t1230\r")]));
  const db = new Database(file);
  db.exec("DELETE FROM journal WHERE block = 1; UPDATE journal SET packets = x'0000' WHERE block = 3");
  db.close();
  const faults = book.journalFaults(id);
  expect(faults).toEqual([
    "recording 1: blocks 1 to 1 are missing",
    "recording 1, block 2: can packets 1 to 1 are missing",
    "recording 1, block 3 is damaged: its bytes are not those that were written",
  ]);
  expect(() => [...book.packets(id)]).toThrow(/recording 1, block 3 is damaged/);
  book.close();
});

test("append that fails leaves no hole when tried again", () => {
  const book = openSqliteBook({ file: join(folder, "a.gripbook"), create: true });
  const { id } = book.startRecording(START);
  book.append(id, entry([packet("can", 100, "t1230\r")]));
  const bad = {
    ...entry([packet("can", 200, "t1240\r")]),
    gaps: [{ stream: "can" as const, fromNs: 0, toNs: 0, cause: null as unknown as string }],
  };
  expect(() => book.append(id, bad)).toThrow(/^Book /);
  book.append(id, entry([packet("can", 200, "t1240\r")]));
  expect(book.journalFaults(id)).toEqual([]);
  expect([...book.packets(id)]).toHaveLength(2);
  book.close();
});

test("a run keeps samples to the bit as plain rows, and edits keep what stood before", () => {
  const file = join(folder, "a.gripbook");
  const book = openSqliteBook({ file, create: true });
  const { id } = book.startRecording(START);
  const run = book.addRun(runWrite(id));
  expect(book.samples(run).samples).toStrictEqual(runWrite(id).samples);
  book.setLabel(run, "wet", 1);
  book.setReview(run, { use: false, note: "gust" }, 2);
  book.setConditions(run, { tyrePressure: "2.1 bar" }, 3);
  book.setConditions(run, { tyrePressure: null }, 4);
  expect(book.run(run)).toMatchObject({ label: "wet", use: false, note: "gust", conditions: {} });
  expect(book.edits(run).map(({ what, before, after }) => [what, before, after])).toEqual([
    ["label", "traction control on", "wet"],
    ["review", { use: true, note: "" }, { use: false, note: "gust" }],
    ["conditions", { tyrePressure: null }, { tyrePressure: "2.1 bar" }],
    ["conditions", { tyrePressure: "2.1 bar" }, { tyrePressure: null }],
  ]);
  const db = new Database(file, { readonly: true });
  expect(db.prepare("SELECT groundSpeedMps, pedal, torqueRequest FROM sample WHERE run = ? AND row = 1").get(run)).toEqual({
    groundSpeedMps: null,
    pedal: null,
    torqueRequest: null,
  });
  expect(db.prepare("SELECT seconds FROM gate_time WHERE gate = '0-60 mph'").pluck().get()).toBe(4.35);
  db.close();
  book.close();
});

test("own is one process's at a time, and free again once released", () => {
  const file = join(folder, "a.gripbook");
  const first = openSqliteBook({ file, create: true });
  const second = openSqliteBook({ file, create: true });
  expect(first.own()).toBe(true);
  expect(second.own()).toBe(false);
  first.close();
  expect(second.own()).toBe(true);
  second.close();
});

test("copyTo writes one sound file while recording, and never over another", () => {
  const book = openSqliteBook({ file: join(folder, "a.gripbook"), create: true });
  const { id } = book.startRecording(START);
  book.append(id, entry([packet("can", 100, "t1230\r")]));
  const target = join(folder, "copy.gripbook");
  book.copyTo(target);
  expect(() => book.copyTo(target)).toThrow(/copy\.gripbook is a book: name another file/);
  const copy = openSqliteBook({ file: target, create: false });
  expect([...copy.packets(id)]).toHaveLength(1);
  expect(copy.integrityFaults()).toEqual([]);
  copy.close();
  book.close();
});
