/** candump logs as Debian's can-utils and its log2asc read them; logs with arrival stamps. */
import { spawnSync } from "node:child_process";
import { existsSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { createCandumpParser } from "../../../src/shared/frames/candump-parser.ts";
import { FRAME_REMOTE, FrameBatch } from "../../../src/shared/frames/frame-batch.ts";
import { createStampedLogSplitter, type LogLine, microsSince } from "../../../src/shared/frames/stamped-log.ts";
import { describeFrames } from "./describe-frames.ts";
import { ascii, pushInPieces } from "./pieces.ts";

function parse(text: string) {
  const batch = new FrameBatch(1);
  const parser = createCandumpParser();
  parser.push(ascii(text), 0, batch);
  parser.flush(batch);
  return { batch, frames: describeFrames(batch), counts: parser.counts };
}

// Forms printed by can-utils' candump -L (lib.c sprint_canframe, Debian package can-utils).
test.each([
  ["(1436509052.249713) vcan0 044#2A366C2BBA", "044 [5] 2A366C2BBA @1436509052249.713"],
  ["(0.000001) can1 1F334455#1122334455667788", "1F334455x [8] 1122334455667788 @0.001"],
  ["can0 123#", "123 [0]"],
  ["can0 123#R", "123 remote [0]"],
  ["can0 123#R8", "123 remote [8]"],
  ["can0 123##0112233445566778899AABBCC", "123 fd [12] 112233445566778899AABBCC"],
  ["(1.5) can0 00000123#11 R", "00000123x [1] 11 @1500"],
  ["can0 123#1122334455667788_B", "123 [8] 1122334455667788"],
])("candumpParser() reads %j", (line, frame) => {
  expect(parse(`${line}\n`).frames).toEqual([frame]);
  expect(parse(`${line}\r\n`).frames).toEqual([frame]);
  expect(parse(line).frames).toEqual([frame]);
});

test.each([
  "can0 12#11",
  "can0 123#1",
  "can0 FFF#11",
  "can0 123#112233445566778899",
  "can0 123##011223344556677889900",
  "123#11",
  "(x) can0 123#11",
  "(1.5 can0 123#11",
  "can0 80000123#11",
  "can0 123#GG",
])("candumpParser() drops %j, counts its bytes, and reads the next line", (line) => {
  const { frames, counts } = parse(`${line}\ncan0 123#11\n`);
  expect(frames).toEqual(["123 [1] 11"]);
  expect(counts).toMatchObject({ malformedLines: 1, droppedBytes: line.length });
});

test("candumpParser() counts error frames by themselves", () => {
  expect(parse("(1.0) can0 20000004#0004000000000000\n").counts).toMatchObject({ errorFrames: 1, frames: 0, malformedLines: 0 });
});

/** From Debian's can-utils. */
const LOG2ASC = "/usr/bin/log2asc";
const hasLog2asc = existsSync(LOG2ASC);
test.skipIf(!hasLog2asc)(
  "candumpParser() agrees with can-utils' log2asc on the same lines [skipped where can-utils is not installed]",
  () => {
    const frames = fc.sample(
      fc.record({ extended: fc.boolean(), remote: fc.boolean(), id: fc.nat(0x1fffffff), data: fc.uint8Array({ maxLength: 8 }) }),
      { seed: 7, numRuns: 100 },
    );
    const log = frames
      .map(({ extended, remote, id, data }, i) => {
        const idText = extended ? id.toString(16).padStart(8, "0") : (id & 0x7ff).toString(16).padStart(3, "0");
        return `(${1000 + i}.250000) can0 ${idText.toUpperCase()}#${remote ? "R" : Buffer.from(data).toString("hex").toUpperCase()}\n`;
      })
      .join("");
    const answer = spawnSync(LOG2ASC, ["can0"], { input: log, encoding: "utf8" });
    const rows = answer.stdout.split("\n").filter((line) => / Rx /.test(line));
    expect(rows).toHaveLength(frames.length);
    const { batch } = parse(log);
    const mine = Array.from({ length: batch.length }, (_, row) => {
      const remote = (batch.flags[row] & FRAME_REMOTE) !== 0;
      const data = Array.from({ length: batch.byteLength[row] }, (_, k) =>
        batch.byteAt(row, k).toString(16).toUpperCase().padStart(2, "0"),
      );
      return [batch.id[row], remote ? "r" : "d", ...(remote ? [] : data)].join(" ");
    });
    const theirs = rows.map((line) => {
      const words = line.trim().split(/\s+/);
      const at = words.indexOf("Rx");
      const id = Number.parseInt(words[at - 1].replace("x", ""), 16);
      return [id, words[at + 1], ...(words[at + 1] === "r" ? [] : words.slice(at + 3, at + 3 + Number(words[at + 2])))].join(" ");
    });
    expect(mine).toEqual(theirs);
  },
);

describe("any bytes", () => {
  const piece = fc.oneof(
    fc.uint8Array({ maxLength: 40 }),
    fc.constantFrom("(1.5) can0 123#1122\n", "can0 12345678#R\n", "(2.0) can0 123##011\n", "\n", "(").map(ascii),
    fc.constant(new Uint8Array(300).fill(0x41)),
  );
  const stream = fc.array(piece, { maxLength: 25 }).map((pieces) => Uint8Array.from(pieces.flatMap((one) => Array.from(one))));

  test("candumpParser() gives the same frames and counts for every cut and accounts for every byte", () => {
    fc.assert(
      fc.property(stream, fc.array(fc.integer({ min: 1, max: 50 }), { minLength: 1, maxLength: 20 }), (bytes, cuts) => {
        const whole = new FrameBatch();
        const one = createCandumpParser();
        one.push(bytes, 0, whole);
        one.flush(whole);
        const pieces = new FrameBatch(1);
        const many = createCandumpParser();
        pushInPieces(bytes, cuts, (part) => many.push(part, 0, pieces));
        many.flush(pieces);
        expect(describeFrames(pieces)).toEqual(describeFrames(whole));
        expect(many.counts).toEqual(one.counts);
        expect(one.counts.acceptedBytes + one.counts.droppedBytes).toBe(one.counts.bytes);
      }),
      { numRuns: 300 },
    );
  });
});

describe("stampedLogSplitter()", () => {
  const split = (text: string, cuts: readonly number[] = [1e9]) => {
    const splitter = createStampedLogSplitter();
    const lines: { line: number; stamped: boolean; micros: bigint; rest: string }[] = [];
    const take = ({ line, stamped, seconds, micros, rest }: LogLine) =>
      lines.push({ line, stamped, micros: BigInt(seconds) * 1_000_000n + BigInt(micros), rest: String.fromCharCode(...rest) });
    pushInPieces(ascii(text), cuts, (part) => splitter.push(part, take));
    splitter.flush(take);
    return lines;
  };

  test("splits stamp and rest, to the microsecond, whatever the cuts", () => {
    const text = "(1436509052.249713) t1230\r\n\n$GPGGA,1\r\n(7.5)  x\n(8) last";
    const wanted = [
      { line: 1, stamped: true, micros: 1436509052249713n, rest: "t1230" },
      { line: 3, stamped: false, micros: 0n, rest: "$GPGGA,1" },
      { line: 4, stamped: true, micros: 7500000n, rest: " x" },
      { line: 5, stamped: true, micros: 8000000n, rest: "last" },
    ];
    for (const cut of [1, 2, 3, 7, 1000]) expect(split(text, [cut])).toEqual(wanted);
    expect(microsSince({ seconds: 1436509052, micros: 249713 }, { seconds: 1436509051, micros: 999999 })).toBe(249714);
  });

  test("takes a stamp for one where the form says so, and no other: up to 12 digits, and up to 9 after a point, cut off after the sixth", () => {
    const digits = (most: number) => fc.string({ unit: fc.constantFrom(..."0123456789"), maxLength: most });
    const near = fc.oneof(
      fc.tuple(digits(14), digits(11)).map(([whole, part]) => `${whole}.${part}`),
      fc.string({ unit: fc.constantFrom(..."0189.) -ax"), maxLength: 16 }),
    );
    fc.assert(
      fc.property(near, fc.nat(20), (text, cut) => {
        const form = /^\((\d{1,12})(?:\.(\d{1,9}))?\) ?(.*)$/.exec(`(${text}) x`);
        const read = () => split(`(${text}) x\n`, [cut + 1]);
        if (form === null) expect(read).toThrow(/^line 1: expected an arrival stamp/);
        else
          expect(read()).toEqual([
            {
              line: 1,
              stamped: true,
              micros: BigInt(form[1]) * 1_000_000n + BigInt((form[2] ?? "").slice(0, 6).padEnd(6, "0")),
              rest: form[3],
            },
          ]);
      }),
      { numRuns: 2000 },
    );
  });

  test("names the line of a stamp that is none, and of a line that never ends", () => {
    expect(() => split("(1.0) a\n(today) b\n")).toThrow(
      /^line 2: expected an arrival stamp like \(1436509052\.249713\) after its bracket$/,
    );
    expect(() => split(`ok\n${"x".repeat(5000)}`)).toThrow(/^line 2: expected a line of at most 4096 bytes/);
  });
});
