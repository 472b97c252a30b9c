/** What may be written to an adapter: DESIGN's pattern, and nothing else. */
import fc from "fast-check";
import { expect, test } from "vitest";
import { assertListenOnly, bitrateCommand, SLCAN_COMMANDS } from "../../../src/shared/frames/slcan-commands.ts";
import { ascii } from "./pieces.ts";

const ALLOWED = ["C", "S0", "S1", "S2", "S3", "S4", "S5", "S6", "S7", "S8", "Z0", "Z1", "L", "V", "N", "F"].map((text) => `${text}\r`);

test("assertListenOnly() lets through DESIGN's commands, which are all that is ever built", () => {
  for (const text of ALLOWED) expect(() => assertListenOnly(ascii(text))).not.toThrow();
  for (const command of Object.values(SLCAN_COMMANDS)) expect(() => assertListenOnly(command)).not.toThrow();
});

test.each([
  "O\r",
  "O",
  "t1230\r",
  "C",
  "C\r\n",
  "S9\r",
  "s031C\r",
  "L\rO\r",
  "",
  "\r",
  "M00000000\r",
  "T1\r",
  "Z2\r",
  "C\rC\r",
  " C\r",
  "l\r",
])("assertListenOnly() refuses %j", (text) => {
  expect(() => assertListenOnly(ascii(text))).toThrow(/only listening commands/);
});

test("assertListenOnly() refuses any other bytes at all", () => {
  fc.assert(
    fc.property(fc.oneof(fc.uint8Array({ maxLength: 12 }), fc.stringMatching(/^[OCLSZVNFtTrRdDbB0-9]{1,4}\r?$/).map(ascii)), (bytes) => {
      fc.pre(!ALLOWED.includes(String.fromCharCode(...bytes)));
      expect(() => assertListenOnly(bytes)).toThrow(RangeError);
    }),
    { numRuns: 2000 },
  );
});

test("bitrateCommand() knows the Linux driver's table and names the rates there are", () => {
  const text = (bitrate: number) => String.fromCharCode(...bitrateCommand(bitrate));
  expect([10_000, 20_000, 50_000, 100_000, 125_000, 250_000, 500_000, 800_000, 1_000_000].map(text)).toEqual(ALLOWED.slice(1, 10));
  expect(() => bitrateCommand(83_333)).toThrow(/Expected a bus bit rate of 10000, .*1000000, got 83333/);
});
