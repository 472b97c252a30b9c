/**
 * Decoding speed as ratios to reference programs in the same run, and random data of 12 million bytes for each parser. Reference programs
 * (python-can, gpsdecode) are Debian's; where one is missing its ratio is left out with a message.
 */
import { spawnSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { createCandumpParser } from "../../src/shared/frames/candump-parser.ts";
import { FrameBatch } from "../../src/shared/frames/frame-batch.ts";
import { createSlcanParser } from "../../src/shared/frames/slcan-parser.ts";
import { createSignalDatabase } from "../../src/shared/dbc/dbc-decode.ts";
import { parseDbc } from "../../src/shared/dbc/dbc-file.ts";
import { decodeFileText } from "../../src/shared/dbc/text-encoding.ts";
import { DbcError } from "../../src/shared/dbc/dbc-model.ts";
import { createEpochAssembler } from "../../src/shared/receiver/epoch-assembler.ts";
import { createRoleTap } from "../../src/shared/signals/role-tap.ts";
import { tellBench } from "./tell-bench.ts";

/** Frames a second of a full 1 Mbit/s bus with the stuffing found in random data (docs/check-values.md, a full bus). */
const FULL_BUS = 8756;
const CHUNK = 4096;
const FUZZ_BYTES = 12_000_000;

const FULL_BUS_REFERENCE = { name: "a full 1 Mbit/s bus", value: FULL_BUS };
const times = (limit: number) => ({ of: "ratio", is: "at least", limit }) as const;
const bench = tellBench("decode");

const DBC = `VERSION ""
BU_: ECU
BO_ 256 Drive: 8 ECU
 SG_ MotorSpeed : 0|16@1- (1,0) [0|0] "rpm" ECU
 SG_ TorqueRequest : 16|16@1- (0.1,0) [0|0] "Nm" ECU
 SG_ TorqueDelivered : 39|16@0- (0.1,0) [0|0] "Nm" ECU
 SG_ Pedal : 48|10@1+ (0.1,0) [0|0] "%" ECU
`;

/** Least processor time of a few repeats, s: wall time would measure who else is using the machine. */
function bestSeconds(repeats: number, work: () => void): number {
  let best = Infinity;
  for (let i = 0; i < repeats; i++) {
    const from = process.cpuUsage();
    work();
    const { user, system } = process.cpuUsage(from);
    best = Math.min(best, (user + system) / 1e6);
  }
  return best;
}

/** Processor time of a command fed with these bytes, s; NaN if it did not run. The shell's own "times" prints it last. */
function childSeconds(command: string, input: Uint8Array): number {
  const run = spawnSync("sh", ["-c", `${command} >/dev/null || exit 9; times`], { input, encoding: "utf8" });
  const spent = Array.from(
    run.stdout
      .trim()
      .split("\n")
      .pop()
      ?.matchAll(/(\d+)m([\d.]+)s/g) ?? [],
    ([, minutes, seconds]) => 60 * Number(minutes) + Number(seconds),
  );
  return run.status === 0 && spent.length === 2 ? spent[0] + spent[1] : Number.NaN;
}

function inChunks(bytes: Uint8Array, push: (chunk: Uint8Array) => void): void {
  for (let from = 0; from < bytes.length; from += CHUNK) push(bytes.subarray(from, from + CHUNK));
}

function noise(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state;
  };
}

function slcanStream(lines: number, stamps: boolean): Uint8Array {
  const next = noise(1);
  const hex = (value: number, width: number) => (value >>> 0).toString(16).toUpperCase().padStart(width, "0").slice(-width);
  const text = Array.from(
    { length: lines },
    (_, i) => `t${hex(256 + (i % 16), 3)}8${hex(next(), 8)}${hex(next(), 8)}${stamps ? hex(Math.floor(i / 9) % 60_000, 4) : ""}\r`,
  );
  return new TextEncoder().encode(text.join(""));
}

const PYTHON = `
import can, sys, time
data = open(sys.argv[1], "rb").read()
bus = can.Bus(interface="slcan", channel="loop://", bitrate=500000, sleep_after_open=0)
class Port:
    def __init__(self, data): self.data, self.at = data, 0
    in_waiting = property(lambda self: min(4095, len(self.data) - self.at))
    timeout = 0
    def read(self, n=1):
        part = self.data[self.at:self.at + n]; self.at += len(part); return part
bus.serialPortOrig = Port(data)
n = 0; start = time.process_time()
while True:
    m = bus.recv(0)
    if m is None: break
    n += 1
print(n / (time.process_time() - start), n)
`;

/** Of whole lines, best of a few repeats. */
function parseSeconds(stream: Uint8Array, lines: number): number {
  const batch = new FrameBatch();
  return bestSeconds(5, () => {
    const parser = createSlcanParser();
    inChunks(stream, (chunk) => {
      parser.push(chunk, 0, batch);
      batch.clear();
    });
    if (parser.counts.frames !== lines) throw new Error(`Expected ${lines} frames, got ${parser.counts.frames}`);
  });
}

function slcanAgainstPython(): void {
  const lines = 400_000;
  const stream = slcanStream(lines, false);
  const value = lines / parseSeconds(stream, lines);
  const told = { value, unit: "lines/s" };
  bench.figure({ name: "slcan", what: "SLCAN parsed", ...told, reference: FULL_BUS_REFERENCE, gate: times(1000) });
  bench.series({
    name: "slcan-lines",
    what: "SLCAN parsed, by the length of the stream",
    sizeUnit: "lines",
    costUnit: "ms of processor time",
    lines: [
      {
        name: "Gripbook",
        points: [10_000, 100_000, 1_000_000].map((size) => ({ size, cost: 1000 * parseSeconds(slcanStream(size, false), size) })),
      },
    ],
  });
  const sample = "/tmp/gripbook-bench.slcan";
  const wrote = spawnSync("dd", [`of=${sample}`, "status=none"], { input: stream.subarray(0, 22 * 60_000) });
  const python = wrote.status === 0 ? spawnSync("/usr/bin/python3", ["-c", PYTHON, sample], { encoding: "utf8" }) : null;
  const [rate, count] = (python?.stdout ?? "").trim().split(" ").map(Number);
  if (count !== 60_000) {
    bench.skipped("SLCAN parsed, against python-can", (python?.stderr ?? "no python3").trim().split("\n").pop() ?? "");
    return;
  }
  bench.figure({
    name: "slcan-python",
    what: "SLCAN parsed",
    ...told,
    reference: { name: "python-can recv", value: rate },
    gate: times(10),
  });
}

function slcanAndSignals(): void {
  const lines = 400_000;
  const stream = slcanStream(lines, true);
  const wheels = ["Left : 0|16@1-", "Right : 16|16@1-", "Front : 39|16@0-", "Other : 48|10@1+"]
    .map((place) => ` SG_ ${place} (0.1,0) [0|0] "km/h" ECU\n`)
    .join("");
  const file = `VERSION ""\nBU_: ECU\n${Array.from({ length: 16 }, (_, i) => `BO_ ${256 + i} Drive${i}: 8 ECU\n${wheels}`).join("")}`;
  const database = createSignalDatabase([parseDbc("bench.dbc", file)]);
  const choice = (signal: string) => ({ signal, invert: false });
  // Four signals of every frame: all messages carry the same ones.
  const each = (signal: string) => Array.from({ length: 16 }, (_, i) => choice(`Drive${i}.${signal}`));
  const signals = { drivenWheelSpeeds: [...each("Left"), ...each("Right")], undrivenWheelSpeeds: [...each("Front"), ...each("Other")] };
  const batch = new FrameBatch();
  const seconds = bestSeconds(5, () => {
    const tap = createRoleTap(database, { signals });
    const parser = createSlcanParser();
    let at = 0;
    inChunks(stream, (chunk) => {
      at += 20e6;
      parser.push(chunk, at, batch);
      tap.push(batch);
      batch.clear();
    });
  });
  bench.figure({
    name: "slcan-tapped",
    what: "SLCAN with stamps, unwrapped, four signals a frame tapped",
    value: lines / seconds,
    unit: "frames/s",
    reference: FULL_BUS_REFERENCE,
    gate: times(200),
  });
}

function receiver(): void {
  const bodies: string[] = [];
  for (let i = 0; i < 33_334; i++) {
    const tenths = i % 864_000;
    const time = `${String(Math.floor(tenths / 36_000)).padStart(2, "0")}${String(Math.floor(tenths / 600) % 60).padStart(2, "0")}${String(Math.floor(tenths / 10) % 60).padStart(2, "0")}.${tenths % 10}0`;
    const knots = ((i % 1000) / 10).toFixed(3);
    bodies.push(
      `GNRMC,${time},A,3000.12345,S,02000.54321,W,${knots},74.10,050524,,,A`,
      `GNGGA,${time},3000.12345,S,02000.54321,W,1,12,0.8,10.2,M,0.0,M,,`,
      `GNVTG,74.10,T,,M,${knots},N,${(Number(knots) * 1.852).toFixed(3)},K,A`,
    );
  }
  const text = bodies
    .map(
      (body) =>
        `$${body}*${Array.from(body)
          .reduce((sum, letter) => sum ^ letter.charCodeAt(0), 0)
          .toString(16)
          .toUpperCase()
          .padStart(2, "0")}\r\n`,
    )
    .join("");
  const stream = new TextEncoder().encode(text);
  const seconds = bestSeconds(5, () => {
    const assembler = createEpochAssembler();
    let epochs = 0;
    const count = () => {
      epochs += 1;
    };
    inChunks(stream, (chunk) => assembler.push(chunk, 0, count));
    assembler.flush(count);
    if (epochs !== 33_334) throw new Error(`Expected 33334 epochs, got ${epochs}`);
  });
  const mine = bodies.length / seconds;
  const gpsdSeconds = Math.min(...Array.from({ length: 3 }, () => childSeconds("gpsdecode", stream)));
  if (Number.isNaN(gpsdSeconds)) {
    bench.skipped("NMEA to epochs, against gpsdecode", "gpsdecode is not installed");
    return;
  }
  bench.figure({
    name: "nmea",
    what: "NMEA to epochs",
    value: mine,
    unit: "sentences/s",
    reference: { name: "gpsdecode", value: bodies.length / gpsdSeconds },
    gate: times(1),
  });
}

/** Random bytes, valid pieces and broken copies of them: nothing may throw, and no batch may outgrow its input. */
function fuzz(): void {
  const next = noise(20261125);
  const capture = readFileSync(fileURLToPath(new URL("../fixtures/gpsd/nmea-rtk.log", import.meta.url)));
  const seeds = [
    slcanStream(200, true),
    new TextEncoder().encode("(1436509052.249713) can0 123##0112233445566778899AABBCC\n(1.5) can0 12345678#1122\ncan0 123#R\n"),
    capture.subarray(0, 4000),
    new TextEncoder().encode(DBC),
  ];
  const mutate = (): Uint8Array => {
    const seed = seeds[next() % seeds.length];
    const piece = seed.slice(next() % seed.length).subarray(0, 20 + (next() % 2000));
    const kind = next() % 3;
    for (let k = 0; k < piece.length; k += kind === 0 ? 1 : 7 + (next() % 90)) if (kind < 2) piece[k] = next() >>> 24;
    return piece;
  };
  const batch = new FrameBatch();
  const slcan = createSlcanParser();
  const candump = createCandumpParser();
  const assembler = createEpochAssembler();
  const database = createSignalDatabase([parseDbc("bench.dbc", DBC)]);
  const tap = createRoleTap(database, { signals: { motorSpeed: { signal: "Drive.MotorSpeed", invert: false } } });
  const before = process.memoryUsage().rss;
  let bytes = 0;
  let dbcBytes = 0;
  while (bytes < FUZZ_BYTES) {
    const piece = mutate();
    bytes += piece.length;
    slcan.push(piece, bytes * 1000, batch);
    tap.push(batch);
    batch.clear();
    candump.push(piece, bytes * 1000, batch);
    tap.push(batch);
    batch.clear();
    tap.dropBefore(bytes * 1000 - 1e9);
    assembler.push(piece, bytes * 1000, () => undefined);
  }
  while (dbcBytes < FUZZ_BYTES) {
    const piece = mutate();
    dbcBytes += piece.length;
    try {
      parseDbc("fuzz.dbc", decodeFileText(piece));
    } catch (error) {
      if (!(error instanceof DbcError)) throw error;
    }
  }
  const grown = (process.memoryUsage().rss - before) / 1e6;
  for (const { bytes: seen, acceptedBytes, droppedBytes } of [slcan.counts, candump.counts, assembler.sentences]) {
    if (seen - acceptedBytes - droppedBytes < 0 || seen - acceptedBytes - droppedBytes > 2000)
      throw new Error(`Bytes unaccounted for: ${seen} seen, ${acceptedBytes} accepted, ${droppedBytes} dropped`);
  }
  bench.figure({
    name: "fuzzed",
    what: "fuzzed bytes a parser (SLCAN, candump, NMEA, DBC), nothing thrown",
    value: Math.min(bytes, dbcBytes),
    unit: "bytes",
    gate: { of: "value", is: "at least", limit: 10e6 },
  });
  bench.figure({ name: "fuzzed-memory", what: "memory after the fuzzed bytes, more than before", value: grown, unit: "MB" });
}

slcanAgainstPython();
slcanAndSignals();
receiver();
fuzz();
