/** What may be written to an adapter: only the design's pattern, checked by type and at run time. */
import fc from "fast-check";
import { expect, expectTypeOf, test } from "vitest";
import { bitrateCommand, type ListenOnlyCommand, wireText } from "../../../src/shared/frames/slcan-commands.ts";

const ALLOWED = ["C", "S0", "S1", "S2", "S3", "S4", "S5", "S6", "S7", "S8", "Z0", "Z1", "L", "V", "N", "F"] as const;
const forced = (text: unknown) => wireText(text as ListenOnlyCommand);

test("the closed type is the design's commands and nothing else: the compiler refuses O and every frame", () => {
  expectTypeOf<ListenOnlyCommand>().toEqualTypeOf<(typeof ALLOWED)[number]>();
  // @ts-expect-error O opens the channel for transmitting too.
  expect(() => wireText("O")).toThrow(RangeError);
  // @ts-expect-error A frame.
  expect(() => wireText("t1230")).toThrow(RangeError);
});

test("wireText() lets through the design's commands, each with its CR", () => {
  for (const command of ALLOWED) expect(wireText(command)).toBe(`${command}\r`);
});

test.each(["O\r", "O", "t1230", "C\r", "C\n", "S9", "s031C", "L\rO", "", "\r", "M00000000", "T1", "Z2", "C\rC", " C", "l", 1, null, ["C"]])(
  "wireText() refuses %j",
  (text) => {
    expect(() => forced(text)).toThrow(/only listening commands/);
  },
);

test("wireText() refuses any other text at all", () => {
  fc.assert(
    fc.property(fc.oneof(fc.string({ maxLength: 12 }), fc.stringMatching(/^[OCLSZVNFtTrRdDbB0-9]{1,4}\r?$/)), (text) => {
      fc.pre(!(ALLOWED as readonly string[]).includes(text));
      expect(() => forced(text)).toThrow(RangeError);
    }),
    { numRuns: 2000 },
  );
});

test("bitrateCommand() knows the Linux driver's table and names the rates there are", () => {
  expect([10_000, 20_000, 50_000, 100_000, 125_000, 250_000, 500_000, 800_000, 1_000_000].map(bitrateCommand)).toEqual(
    ALLOWED.slice(1, 10),
  );
  expect(() => bitrateCommand(83_333)).toThrow(/Expected a bus bit rate of 10000, .*1000000, got 83333/);
});
