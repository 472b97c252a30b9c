/**
 * Bytes of a full 1 Mbit/s bus (8,756 frames/s, docs/check-values.md, a full bus) to the stored journal with FULL commits, decoded and aligned, one core; and opening a stored
 * 60 s run; and the same recorded live, with the drafts in between. Gates: 200x real time, 100x live, and 100 ms (docs/design.md, figures to reach).
 */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import { openSqliteBook } from "../../src/main/adapters/sqlite/sqlite-book.ts";
import { createJournalWriter } from "../../src/main/core/recording/journal-writer.ts";
import { readSetUp } from "../../src/main/core/basics/read-set-up.ts";
import { alignRecording } from "../../src/shared/align/align-recording.ts";
import { createDecodeStream } from "../../src/shared/pipeline/decode-stream.ts";
import type { Packet } from "../../src/shared/pipeline/packet.ts";
import { carSetUp, carSignalFile } from "../../src/shared/simulation/car-files.ts";
import { benchSamples } from "./bench-samples.ts";
import { median, tellBench, whyBusy } from "./tell-bench.ts";
import { FIXED_COLUMNS } from "../../src/main/adapters/sqlite/sample-columns.ts";
import { ROLE_COLUMNS } from "../../src/main/adapters/sqlite/sqlite-schema.ts";

const FRAMES_A_SECOND = 8756;
const SECONDS = 60;
const PACKET_MS = 4;
/** 140 ms. */
const PACKETS_A_BLOCK = 35;
const LEAST_TIMES_REAL = 200;
const LEAST_TIMES_LIVE = 100;
const MOST_OPEN_MS = 100;
const bench = tellBench("journal");
const IDS = ["120", "1A0", "1B0", "2A0"];

/** Adapter lines of a full bus, one packet each 4 ms. */
function fullBus(): Packet[] {
  const packets: Packet[] = [];
  let frame = 0;
  for (let ms = 0; ms < SECONDS * 1000; ms += PACKET_MS) {
    let text = "";
    for (; frame < ((ms + PACKET_MS) * FRAMES_A_SECOND) / 1000; frame += 1) {
      const data = ((frame * 2654435761) >>> 0).toString(16).padStart(8, "0").toUpperCase().repeat(2);
      text += `t${IDS[frame % IDS.length]}8${data}${(Math.floor(ms) % 60000).toString(16).padStart(4, "0").toUpperCase()}\r`;
    }
    packets.push({ stream: "can", arrivalNs: (ms + PACKET_MS) * 1e6, bytes: Buffer.from(text, "latin1") });
  }
  return packets;
}

const folder = mkdtempSync(join(tmpdir(), "gripbook-"));
const setUpText = JSON.stringify(carSetUp({ frontWheelSensors: true, rearWheelSensors: true, stamps: true }));
const ready = readSetUp({ text: setUpText, signalFiles: [{ name: "car.dbc", text: carSignalFile() }] }, "Set-up of the bench");
const packets = fullBus();
const book = openSqliteBook({ file: join(folder, "a.gripbook"), create: true });
const times: number[] = [];
const importTimes: number[] = [];
const decodeTimes: number[] = [];
const liveTimes: number[] = [];

/** Blocks of a log that an import commits together (core/deriving/import-recording.ts). */
const IMPORTED_AT_ONCE = 64;
type How = "a commit a block" | "as an import" | "live";

/** Seconds of one core for storing all packets. */
function record(uid: string, how: How, push: (packet: Packet) => void): { id: number; seconds: number } {
  const cpu = process.cpuUsage();
  const { id } = book.startRecording({
    uid,
    origin: "live",
    baseUtcUs: 1_936_000_000_000_000,
    canFormat: "slcan",
    setUp: ready.stored,
  });
  const journal = createJournalWriter({ book, recording: id, onTrouble: (text) => console.log(text) });
  const together = PACKETS_A_BLOCK * (how === "as an import" ? IMPORTED_AT_ONCE : 1);
  for (let from = 0; from < packets.length; from += together) {
    const some = packets.slice(from, from + together);
    for (const packet of some) {
      if (how === "live") journal.packet(packet);
      push(packet);
    }
    if (how === "live") continue;
    book.transaction(() => {
      for (let at = 0; at < some.length; at += PACKETS_A_BLOCK)
        book.append(id, { packets: some.slice(at, at + PACKETS_A_BLOCK), marks: [], gaps: [], clock: [] });
    });
  }
  journal.flush();
  const { user, system } = process.cpuUsage(cpu);
  return { id, seconds: (user + system) / 1e6 };
}

/** Storing and decoding alone, and with the alignment at its end. */
function taken(uid: string, how: How): { decodedS: number; alignedS: number } {
  const stream = createDecodeStream({ setUp: ready.setUp, databases: ready.databases, canFormat: "slcan" });
  const { id, seconds } = record(uid, how, stream.push);
  const cpu = process.cpuUsage();
  stream.flush();
  // As runs are derived: without a copy of the columns.
  alignRecording(stream.views(SECONDS * 1e9, []), ready.setUp);
  book.closeRecording(id, "closed");
  const { user, system } = process.cpuUsage(cpu);
  return { decodedS: seconds, alignedS: seconds + (user + system) / 1e6 };
}

for (let repeat = 0; repeat < 5; repeat += 1) {
  const each = taken(`bench-${repeat}`, "a commit a block");
  decodeTimes.push(each.decodedS);
  times.push(each.alignedS);
  importTimes.push(taken(`import-${repeat}`, "as an import").alignedS);
  liveTimes.push(taken(`live-${repeat}`, "live").decodedS);
}

/** Seconds of processor time a second of bus: lines as text, BigInt for each signal, a row a value, a commit each 250 ms. What many programs do. */
function textbook(): number {
  const seconds = 2;
  const db = new Database(join(folder, "textbook.sqlite"));
  db.pragma("journal_mode = WAL");
  db.pragma("synchronous = FULL");
  db.exec("CREATE TABLE value (signal INTEGER, t REAL, value REAL, PRIMARY KEY (signal, t)) WITHOUT ROWID");
  const insert = db.prepare("INSERT OR REPLACE INTO value VALUES (?, ?, ?)");
  const some = packets.slice(0, (seconds * 1000) / PACKET_MS);
  const cpu = process.cpuUsage();
  let at = 0;
  for (let from = 0; from < some.length; from += 250 / PACKET_MS) {
    db.transaction(() => {
      for (const { bytes } of some.slice(from, from + 250 / PACKET_MS))
        for (const line of Buffer.from(bytes).toString("latin1").split("\r")) {
          if (line === "") continue;
          const word = BigInt(`0x${line.slice(5, 21)}`);
          at += 1;
          for (let signal = 0; signal < 4; signal += 1) {
            const id = 4 * Number.parseInt(line.slice(1, 4), 16) + signal;
            insert.run(id, at, Number(BigInt.asIntN(16, word >> BigInt(16 * signal))) * 0.1);
          }
        }
    })();
  }
  const { user, system } = process.cpuUsage(cpu);
  db.close();
  return (user + system) / 1e6 / seconds;
}

const speed = (seconds: readonly number[]) => SECONDS / median(seconds);
const ofBus = { unit: "times real time", reference: { name: "a textbook pipeline", value: 1 / textbook() } };
bench.figure({ name: "decoded", what: "a full 1 Mbit/s bus: journal and decoding", value: speed(decodeTimes), ...ofBus });
bench.figure({
  name: "aligned",
  what: "a full 1 Mbit/s bus: journal, decoding and alignment",
  value: speed(times),
  ...ofBus,
  gate: { of: "value", is: "at least", limit: LEAST_TIMES_REAL },
  why: whyBusy(),
});
bench.figure({
  name: "imported",
  what: "a full 1 Mbit/s bus: the same, committed as an import does",
  value: speed(importTimes),
  ...ofBus,
});
bench.figure({
  name: "live",
  what: "a full 1 Mbit/s bus: journal with its drafts, and decoding",
  value: speed(liveTimes),
  ...ofBus,
  gate: { of: "value", is: "at least", limit: LEAST_TIMES_LIVE },
  why: whyBusy(),
});

/** Decoding and aligning alone, without a book, by the length of the recording. */
function decodedAlone(seconds: number): number {
  const some = packets.slice(0, (seconds * 1000) / PACKET_MS);
  const cpu = process.cpuUsage();
  const stream = createDecodeStream({ setUp: ready.setUp, databases: ready.databases, canFormat: "slcan" });
  for (const packet of some) stream.push(packet);
  alignRecording(stream.views(seconds * 1e9, []), ready.setUp);
  const { user, system } = process.cpuUsage(cpu);
  return (user + system) / 1000;
}

const lengths = [2, 6, 20, 60];
const costs = lengths.map((size) => ({ size, cost: median(Array.from({ length: 5 }, () => decodedAlone(size))) }));
bench.series({
  name: "decode-align",
  what: "a full bus decoded and aligned, without a book",
  sizeUnit: "s of a full bus",
  costUnit: "ms of processor time",
  lines: [{ name: "Gripbook", points: costs }],
});
bench.figure({
  name: "decode-align",
  what: "a full 1 Mbit/s bus: decoding and alignment, without a book",
  value: (SECONDS * 1000) / (costs.at(-1)?.cost ?? Number.NaN),
  ...ofBus,
});

const rows = 6800;
const samples = benchSamples(rows, { fixed: 60, roles: 300 });
const nothing = { peakSlipSpeedKmh: null, peakSlipRatio: null, secondsAbove10Percent: null };
const run = book.addRun({
  uid: "bench",
  recording: 1,
  final: true,
  label: "",
  figures: {
    uid: "bench",
    movementS: 5,
    movementPlusMinus95: 0.01,
    startedAtUtcMs: null,
    windowFromS: 0,
    windowToS: 68,
    courseDeg: null,
    altitudeChangeM: null,
    gates: [],
    slip: nothing,
    flags: [],
    measured: {},
  },
  samples,
  roleUnits: Object.fromEntries(ROLE_COLUMNS.map((name) => [name, ""])),
  print: { slipKmh: [], heldNm: [], intervening: [] },
  calibration: null,
});
book.close();
const opens: number[] = [];
for (let repeat = 0; repeat < 5; repeat += 1) {
  const startMs = performance.now();
  const again = openSqliteBook({ file: join(folder, "a.gripbook"), create: false });
  again.samples(run);
  opens.push(performance.now() - startMs);
  again.close();
}
rmSync(folder, { recursive: true, force: true });
bench.figure({
  name: "opened",
  what: `a stored 60 s run of ${ROLE_COLUMNS.length + FIXED_COLUMNS.length - 1} columns opened and read`,
  value: median(opens),
  unit: "ms",
  gate: { of: "value", is: "at most", limit: MOST_OPEN_MS },
});
