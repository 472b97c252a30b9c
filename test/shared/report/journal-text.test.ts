/** Sources: can-utils log form, read by Debian's log2asc; SLCAN grammar of docs/check-values.md, SLCAN; `import`'s own splitter reads what is written. */
import { spawnSync } from "node:child_process";
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { candumpText, nmeaText, slcanText } from "../../../src/shared/report/journal-text.ts";
import { createCandumpParser } from "../../../src/shared/frames/candump-parser.ts";
import { FrameBatch } from "../../../src/shared/frames/frame-batch.ts";
import { createSlcanParser } from "../../../src/shared/frames/slcan-parser.ts";
import { createStampedLogSplitter } from "../../../src/shared/frames/stamped-log.ts";
import type { Packet } from "../../../src/shared/pipeline/packet.ts";

const BASE_US = 1_935_655_331_482_123;
const bytes = (text: string) => Uint8Array.from(text, (c) => c.charCodeAt(0));
const packet = (stream: Packet["stream"], us: number, text: string): Packet => ({ stream, arrivalNs: us * 1000, bytes: bytes(text) });
const text = (parts: Iterable<string>) => [...parts].join("");

/** `all` cut into packets a millisecond apart. */
function cut(stream: Packet["stream"], all: string, cuts: readonly number[]): Packet[] {
  const edges = [...new Set([0, ...cuts.map((c) => c % all.length), all.length])].sort((a, b) => a - b);
  return edges.slice(1).map((to, i) => packet(stream, 1000 * i, all.slice(edges[i], to)));
}

function readStamped(log: string): { us: number; rest: string }[] {
  const lines: { us: number; rest: string }[] = [];
  const splitter = createStampedLogSplitter();
  const emit = (line: { seconds: number; micros: number; rest: Uint8Array }) => {
    lines.push({ us: line.seconds * 1e6 + line.micros, rest: String.fromCharCode(...line.rest) });
  };
  splitter.push(bytes(log), emit);
  splitter.flush(emit);
  return lines;
}

const SLCAN = "t4563112233EA5F\r\r\x07T12ABCDEF2AA55\rr1238\rR12ABCDEF0\rnonsense\rt0000\r";
const CANDUMP = "(1.5) can0 456#112233\ncan0 12ABCDEF#AA55\r\n(2.000001) can0 123#R8\n";

describe("journal text", () => {
  test("stamps each line with the arrival of its first byte, exact to the microsecond", () => {
    const packets = [
      packet("gnss", 7, "$GPRMC,a"),
      packet("can", 8, "t1230\r"),
      packet("gnss", 1_000_009, "bc*00\r\n$GPGGA*11\r"),
      packet("gnss", 2_000_000, "\n"),
    ];
    expect(text(nmeaText(packets, BASE_US))).toBe("(1935655331.482130) $GPRMC,abc*00\n(1935655332.482132) $GPGGA*11\n");
  });

  test("every cut of the stream gives the same lines, read back by import's splitter", () => {
    fc.assert(
      fc.property(fc.array(fc.nat(), { maxLength: 8 }), (cuts) => {
        const lines = readStamped(text(slcanText(cut("can", SLCAN, cuts), BASE_US, "slcan"))).map((line) => line.rest);
        expect(lines).toEqual(
          SLCAN.replaceAll("\x07", "\r")
            .split("\r")
            .filter((line) => line !== ""),
        );
      }),
    );
  });

  test("lines read back hold the same frames at the same times", () => {
    fc.assert(
      fc.property(fc.array(fc.nat(), { maxLength: 8 }), (cuts) => {
        const packets = cut("can", SLCAN, cuts);
        const [before, after] = [new FrameBatch(), new FrameBatch()];
        const [first, second] = [createSlcanParser(), createSlcanParser()];
        for (const { bytes: b, arrivalNs } of packets) first.push(b, arrivalNs, before);
        for (const { us, rest } of readStamped(text(slcanText(packets, BASE_US, "slcan"))))
          second.push(bytes(`${rest}\r`), (us - BASE_US) * 1000, after);
        for (const key of ["id", "dlc", "flags", "arrivalNs", "stampMs", "word0"] as const) {
          expect(Array.from(after[key].subarray(0, after.length))).toEqual(Array.from(before[key].subarray(0, before.length)));
        }
        expect(after.length).toBe(5);
      }),
    );
  });

  test("an unfinished last line leaves one byte, which keeps the end and reads as nothing", () => {
    const packets = [packet("can", 1, "t1230\r"), packet("can", 5, "t4560")];
    expect(text(slcanText(packets, 0, "slcan"))).toBe("(0.000001) t1230\n(0.000005) t\n");
  });

  test("a line that no parser takes is cut short of what import refuses", () => {
    const [line] = readStamped(text(nmeaText([packet("gnss", 0, "x".repeat(9000)), packet("gnss", 1, "y\r\n")], 0)));
    expect(line?.rest).toHaveLength(4000);
  });

  test("an adapter's lines become candump lines that can-utils reads", () => {
    const log = text(candumpText([packet("can", 5, SLCAN)], BASE_US, "slcan"));
    expect(log.split("\n").slice(0, 4)).toEqual([
      "(1935655331.482128) can0 456#112233",
      "(1935655331.482128) can0 12ABCDEF#AA55",
      "(1935655331.482128) can0 123#R8",
      "(1935655331.482128) can0 12ABCDEF#R",
    ]);
    const read = spawnSync("/usr/bin/log2asc", ["can0"], { input: log, encoding: "utf8" });
    if (read.error) {
      console.log(`skipped: log2asc, because ${read.error.message} (Debian: can-utils)`);
      return;
    }
    expect(read.status).toBe(0);
    expect(read.stdout).toMatch(/456\s+Rx\s+d 3 11 22 33/);
    expect(read.stdout).toMatch(/12ABCDEFx\s+Rx\s+d 2 AA 55/);
  });

  test("a candump recording keeps its lines under their arrival, and becomes adapter lines with the same frames", () => {
    const packets = [packet("can", 9, CANDUMP)];
    expect(text(candumpText(packets, 0, "candump"))).toBe(
      "(0.000009) can0 456#112233\n(0.000009) can0 12ABCDEF#AA55\n(0.000009) can0 123#R8\n",
    );
    expect(text(slcanText(packets, 0, "candump"))).toBe("(0.000009) t4563112233\n(0.000009) T12ABCDEF2AA55\n(0.000009) r1238\n");
    const frames = new FrameBatch();
    createCandumpParser().push(bytes(text(candumpText(packets, 0, "candump"))), 0, frames);
    expect(frames.length).toBe(3);
  });
});
