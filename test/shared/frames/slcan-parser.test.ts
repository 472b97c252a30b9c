/** SLCAN against python-can's own vectors and, live, against Debian's python-can on the same bytes. */
import { spawnSync } from "node:child_process";
import { existsSync, readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { FRAME_EXTENDED, FRAME_FD, FRAME_REMOTE, FrameBatch } from "../../../src/shared/frames/frame-batch.ts";
import { createSlcanParser } from "../../../src/shared/frames/slcan-parser.ts";
import type { SlcanReply } from "../../../src/shared/frames/slcan-replies.ts";
import { describeFrames } from "./describe-frames.ts";
import { ascii, pushInPieces, referencePath } from "./pieces.ts";

function parse(text: string) {
  const batch = new FrameBatch(1);
  const replies: SlcanReply[] = [];
  const parser = createSlcanParser({ onReply: (reply) => replies.push(reply) });
  parser.push(ascii(text), 0, batch);
  return { batch, frames: describeFrames(batch), counts: parser.counts, replies };
}

// Kernel comment and python-can agree on these lines (docs/check-values.md, SLCAN).
test.each([
  ["t1230\r", "123 [0]"],
  ["t4563112233\r", "456 [3] 112233"],
  ["T12ABCDEF2AA55\r", "12ABCDEFx [2] AA55"],
  ["r1230\r", "123 remote [0]"],
  ["r1238\r", "123 remote [8]"],
  ["R12ABCDEF6\r", "12ABCDEFx remote [6]"],
  ["t7FF80001020304050607\r", "7FF [8] 0001020304050607"],
  ["T1FFFFFFF8FFFFFFFFFFFFFFFF\r", "1FFFFFFFx [8] FFFFFFFFFFFFFFFF"],
  ["t000100\r", "000 [1] 00"],
  ["t4563aabbcc\r", "456 [3] AABBCC"],
  ["t4563112233EA5F\r", "456 [3] 112233 @59999"],
  ["T1111222281122334455667788EA5F\r", "11112222x [8] 1122334455667788 @59999"],
  ["t123100\x07", "123 [1] 00"],
])("slcanParser() reads %j", (line, frame) => {
  expect(parse(line).frames).toEqual([frame]);
});

// FD letters and length codes: adapter firmware Nakakiyo092/canable2-fw src/slcan.c; lengths ISO 11898-1.
test("slcanParser() reads CAN FD lines to 64 bytes, and microsecond stamps by the line's length", () => {
  const data = Array.from({ length: 64 }, (_, i) => i.toString(16).padStart(2, "0").toUpperCase()).join("");
  const { batch, frames } = parse(`d123A${data.slice(0, 32)}\rB1ABCDEF0F${data}000F4240\r`);
  expect(frames).toEqual([`123 fd [16] ${data.slice(0, 32)}`, `1ABCDEF0x fd [64] ${data} @1000`]);
  expect(batch.flags[1]).toBe(FRAME_FD | FRAME_EXTENDED);
  expect(batch.dlc[1]).toBe(15);
});

// docs/check-values.md, SLCAN, "must be rejected"; the firmware answers BEL to them.
test.each([
  "t456311\r",
  "t4569\r",
  "t8000\r",
  "T200000000\r",
  "tG230\r",
  "t1231G0\r",
  "t12310012\r",
  "x\r",
  "t12\r",
  "r1239\r",
  "T123\r",
  "t1231001234X\r",
])("slcanParser() drops %j, counts its bytes, and reads the next line", (line) => {
  const { frames, counts } = parse(`${line}t1230\r`);
  expect(frames).toEqual(["123 [0]"]);
  expect(counts.droppedBytes).toBe(line.length - 1);
  expect(counts.malformedLines).toBe(1);
});

test("slcanParser() never takes answers for frames", () => {
  const { frames, counts, replies } = parse("z\rZ\r\r\x07V1013\rNA123\rF24\rsa057033\re3bcO\rVL2K0 1.0 free text\r");
  expect(frames).toEqual([]);
  expect(counts).toMatchObject({ transmitConfirmations: 2, okReplies: 1, refusals: 1, otherReplies: 6, droppedBytes: 0 });
  expect(replies).toEqual([
    { kind: "ok" },
    { kind: "refused" },
    { kind: "version", text: "1013" },
    { kind: "serialNumber", text: "A123" },
    // Bits 2 and 5: error warning, error passive (docs/check-values.md, SLCAN).
    {
      kind: "status",
      status: {
        receiveFull: false,
        transmitFull: false,
        errorWarning: true,
        dataOverrun: false,
        errorPassive: true,
        arbitrationLost: false,
        busError: false,
      },
    },
    { kind: "busState", state: "active", receiveErrors: 57, transmitErrors: 33 },
    { kind: "busErrors", errors: ["bit 0", "checksum", "transmit overrun"] },
    { kind: "version", text: "L2K0 1.0 free text" },
  ]);
});

test("slcanParser() keeps a frame whose stamp is beyond EA5F, without the stamp", () => {
  const { batch, counts } = parse("t123100EA60\r");
  expect(batch.stampMs[0]).toBeNaN();
  expect(counts).toMatchObject({ frames: 1, badStamps: 1, stampedFrames: 0 });
});

test("slcanParser() gives a frame the arrival of the packet with its first byte", () => {
  const batch = new FrameBatch();
  const parser = createSlcanParser();
  parser.push(ascii("t1230\rt12"), 1000, batch);
  parser.push(ascii("4"), 2000, batch);
  parser.push(ascii("0\rt1250\r"), 3000, batch);
  expect(Array.from(batch.arrivalNs.subarray(0, batch.length))).toEqual([1000, 1000, 3000]);
});

describe("any bytes", () => {
  const piece = fc.oneof(
    { weight: 3, arbitrary: fc.uint8Array({ maxLength: 40 }) },
    {
      weight: 3,
      arbitrary: fc
        .constantFrom(
          "t1230\r",
          "t4563112233EA5F\r",
          "T1FFFFFFF8FFFFFFFFFFFFFFFF\r",
          "d1239000102030405060708090A0B\r",
          "\x07",
          "z\r",
          "V1013\r",
        )
        .map(ascii),
    },
    { weight: 1, arbitrary: fc.constant(new Uint8Array(400).fill(0x74)) },
  );
  const stream = fc.array(piece, { maxLength: 30 }).map((pieces) => Uint8Array.from(pieces.flatMap((one) => Array.from(one))));

  test("slcanParser() gives the same frames and counts for every cut, never throws, and accounts for every byte", () => {
    fc.assert(
      fc.property(stream, fc.array(fc.integer({ min: 1, max: 50 }), { minLength: 1, maxLength: 20 }), (bytes, cuts) => {
        const whole = new FrameBatch();
        const one = createSlcanParser();
        one.push(bytes, 0, whole);
        one.push(ascii("\r"), 0, whole);
        const pieces = new FrameBatch(1);
        const many = createSlcanParser();
        pushInPieces(bytes, cuts, (part) => many.push(part, 0, pieces));
        many.push(ascii("\r"), 0, pieces);
        expect(describeFrames(pieces)).toEqual(describeFrames(whole));
        expect(many.counts).toEqual(one.counts);
        expect(one.counts.acceptedBytes + one.counts.droppedBytes).toBe(one.counts.bytes);
      }),
      { numRuns: 300 },
    );
  });
});

const PYTHON = `
import can, sys, json
bus = can.Bus(interface="slcan", channel="loop://", bitrate=500000, sleep_after_open=0)
port = bus.serialPortOrig; port.timeout = 0; port.read(64)
out = []
for line in sys.stdin.read().split("\\n"):
    if not line: continue
    port.timeout = 0; port.write((line + "\\r").encode()); m = bus.recv(0.01)
    out.append(None if m is None else "%s%s%s [%d]%s" % (("%08Xx" if m.is_extended_id else "%03X") % m.arbitration_id,
      " remote" if m.is_remote_frame else "", "", m.dlc, "" if m.is_remote_frame or not m.data else " " + bytes(m.data).hex().upper()))
print(json.dumps(out))
`;
const python = "/usr/bin/python3";
const hasPythonCan = existsSync(python) && spawnSync(python, ["-c", "import can, serial"]).status === 0;
test.skipIf(!hasPythonCan)(
  "slcanParser() agrees with Debian's python-can on the same lines [skipped where python3-can is not installed]",
  () => {
    const random = fc.sample(
      fc.record({ extended: fc.boolean(), remote: fc.boolean(), id: fc.nat(0x1fffffff), data: fc.uint8Array({ maxLength: 8 }) }),
      { seed: 20261125, numRuns: 120 },
    );
    const lines = random.map(({ extended, remote, id, data }) => {
      const letter = extended ? (remote ? "R" : "T") : remote ? "r" : "t";
      const hexId = extended ? id.toString(16).padStart(8, "0") : (id & 0x7ff).toString(16).padStart(3, "0");
      return `${letter}${hexId}${data.length}${remote ? "" : Buffer.from(data).toString("hex")}`.replace(/[a-f]/g, (digit, at: number) =>
        at === 0 ? digit : digit.toUpperCase(),
      );
    });
    const answer = spawnSync(python, ["-c", PYTHON], { input: lines.join("\n"), encoding: "utf8" });
    expect(answer.stderr).toBe("");
    expect(parse(`${lines.join("\r")}\r`).frames).toEqual(JSON.parse(answer.stdout));
  },
);

const vectors = referencePath("slcan_python_can_vectors.json");
test.skipIf(!existsSync(vectors))(
  "slcanParser() agrees with the stored python-can vectors [skipped where the reference folder is absent]",
  () => {
    const { decode } = JSON.parse(readFileSync(vectors, "utf8")) as {
      decode: { line: string; result: { id: number; ext: boolean; rtr: boolean; dlc: number; data: string } | { error: string } | null }[];
    };
    expect(decode.length).toBeGreaterThan(15);
    for (const { line, result } of decode) {
      const { batch, frames } = parse(line);
      if (result === null || "error" in result) expect(frames, line).toEqual([]);
      else {
        expect([batch.id[0], (batch.flags[0] & FRAME_EXTENDED) !== 0, (batch.flags[0] & FRAME_REMOTE) !== 0, batch.dlc[0]], line).toEqual([
          result.id,
          result.ext,
          result.rtr,
          result.dlc,
        ]);
        expect(frames[0].split(" @")[0].endsWith(result.data), line).toBe(true);
      }
    }
  },
);
