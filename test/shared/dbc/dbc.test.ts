/** Signal files and decoding against cantools' published vectors, its public files and its decodes of them. */
import { existsSync, readdirSync, readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { createCandumpParser } from "../../../src/shared/frames/candump-parser.ts";
import { FrameBatch } from "../../../src/shared/frames/frame-batch.ts";
import { createSignalDatabase, decodeFrame } from "../../../src/shared/dbc/dbc-decode.ts";
import { parseDbc } from "../../../src/shared/dbc/dbc-file.ts";
import { DbcError } from "../../../src/shared/dbc/dbc-model.ts";
import { decodeFileText } from "../../../src/shared/dbc/text-encoding.ts";
import { ascii, referencePath } from "../frames/pieces.ts";

const utf8 = new TextEncoder();
const parseText = (text: string) => parseDbc("car.dbc", text);

function decode(file: string, id: number, extended: boolean, hex: string) {
  const batch = new FrameBatch(1);
  const idText = id.toString(16).padStart(extended ? 8 : 3, "0");
  createCandumpParser().push(ascii(`(1.5) can0 ${idText}#${hex.length > 16 ? "#0" : ""}${hex}\n`), 0, batch);
  expect(batch.length).toBe(1);
  return decodeFrame(createSignalDatabase([parseDbc("x.dbc", file)]), batch, 0);
}

function expectSame(got: Record<string, number | string>, wanted: Record<string, number | string>, place: string) {
  expect(Object.keys(got).sort(), place).toEqual(Object.keys(wanted).sort());
  for (const [name, value] of Object.entries(wanted)) {
    const mine = got[name];
    if (typeof value === "string" || typeof mine === "string") expect(mine, `${place} ${name}`).toBe(value);
    else
      expect(Math.abs(mine - value), `${place} ${name}: got ${mine}, wanted ${value}`).toBeLessThanOrEqual(
        1e-9 * Math.max(1, Math.abs(value)),
      );
  }
}

interface Vector {
  file: string;
  message: string;
  id: number;
  extended: boolean;
  hex: string;
  signals: Record<string, number | string>;
}
const folder = referencePath("dbc");
describe.skipIf(!existsSync(folder))("reference signal files [skipped where the reference folder is absent]", () => {
  test("the 27 vectors, each decoded by cantools and by an independent bit-level decoder", () => {
    const { vectors } = JSON.parse(readFileSync(referencePath("dbc_vectors.json"), "utf8")) as { vectors: Vector[] };
    expect(vectors).toHaveLength(27);
    // Two of their files are not in the folder; those cases are written out in the next test.
    const held = vectors.filter(({ file }) => existsSync(`${folder}/${file}`));
    expect(held.length).toBeGreaterThanOrEqual(23);
    for (const { file, message, id, extended, hex, signals } of held) {
      const got = decode(decodeFileText(readFileSync(`${folder}/${file}`)), id, extended, hex);
      expect(got.message, file).toBe(message);
      expectSame(got.signals, signals, `${file} ${hex}`);
    }
  });

  const files = readdirSync(existsSync(folder) ? folder : ".").filter((name) => /\.dbc$/i.test(name));
  test("every file is read, without a doubt that is none", () => {
    expect(files.length).toBeGreaterThanOrEqual(62);
    for (const file of files) {
      const { messages, warnings } = parseDbc(file, decodeFileText(readFileSync(`${folder}/${file}`)));
      // The only files with signals that can overlap in the same frame: branches of two different multiplexors.
      if (!/^multiplex_2/.test(file)) expect(warnings, file).toEqual([]);
      const text = readFileSync(`${folder}/${file}`, "latin1");
      const listed = (text.match(/^\s*BO_ /gm) ?? []).length - (text.match(/^\s*BO_ \d+ VECTOR__INDEPENDENT_SIG_MSG/gm) ?? []).length;
      expect(messages.length, file).toBe(listed);
    }
  });

  test.each(files.filter((file) => existsSync(`${folder}/${file}.json`)))("cantools' decodes of random frames of %s", (file) => {
    const frames = JSON.parse(readFileSync(`${folder}/${file}.json`, "utf8")) as {
      id: number;
      ext: boolean;
      hex: string;
      message: string;
      signals: Record<string, number | string>;
    }[];
    const database = createSignalDatabase([parseDbc(file, decodeFileText(readFileSync(`${folder}/${file}`)))]);
    const batch = new FrameBatch();
    const parser = createCandumpParser();
    for (const { id, ext, hex } of frames) {
      parser.push(ascii(`can0 ${id.toString(16).padStart(ext ? 8 : 3, "0")}#${hex.length > 16 ? "#0" : ""}${hex}\n`), 0, batch);
    }
    expect(batch.length).toBe(frames.length);
    frames.forEach((frame, row) => {
      const got = decodeFrame(database, batch, row);
      expect(got.message).toBe(frame.message);
      expectSame(got.signals, frame.signals, `${file} ${frame.hex}`);
    });
  });
});

const HEAD = 'VERSION ""\nNS_ :\n\tCM_\n\tBA_\nBS_:\nBU_: ECU\n';

test("decodeFrame() prints the line of the design's decode command, labels under text", () => {
  const file = `${HEAD}BO_ 291 Drive: 8 ECU\n SG_ Gear : 0|4@1+ (1,0) [0|15] "" ECU\n SG_ Torque : 15|16@0- (0.5,0) [0|0] "Nm" ECU\nVAL_ 291 Gear 1 "forward" 2 "reverse" ;\n`;
  expect(decode(file, 291, false, "02FFF6")).toEqual({
    t: 1.5,
    id: 291,
    extended: false,
    message: "Drive",
    signals: { Gear: 2, Torque: -5 },
    text: { Gear: "reverse" },
  });
  // A short frame has only the signals that fit in it; an unknown frame has none; an 11-bit and a 29-bit id differ.
  expect(decode(file, 291, false, "02FF").signals).toEqual({ Gear: 2 });
  expect(decode(file, 291, true, "02FFF6")).toEqual({ t: 1.5, id: 291, extended: true, message: null, signals: {}, text: {} });
});

test("decodeFrame() follows multiplexors that hang on multiplexors, and two beside each other", () => {
  // Bytes and values of docs/check-values.md, DBC, rows 15 and 16; the files are written here.
  const cascaded = `${HEAD}BO_ 2147483649 M: 8 ECU\n SG_ A M : 0|8@1+ (1,0) [0|0] "" ECU\n SG_ B m2M : 8|8@1+ (1,0) [0|0] "" ECU\n SG_ muxed_A_1 m1 : 8|8@1- (1,0) [0|0] "" ECU\n SG_ muxed_B_0 m0 : 16|8@1- (1,0) [0|0] "" ECU\n SG_ muxed_B_1 m1 : 16|16@1- (1,0) [0|0] "" ECU\nSG_MUL_VAL_ 2147483649 B A 2-2;\nSG_MUL_VAL_ 2147483649 muxed_A_1 A 1-1;\nSG_MUL_VAL_ 2147483649 muxed_B_0 B 0-0;\nSG_MUL_VAL_ 2147483649 muxed_B_1 B 1-1;\n`;
  expect(decode(cascaded, 1, true, "0201100000000000").signals).toEqual({ A: 2, B: 1, muxed_B_1: 16 });
  expect(decode(cascaded, 1, true, "0200FB0000000000").signals).toEqual({ A: 2, B: 0, muxed_B_0: -5 });
  expect(decode(cascaded, 1, true, "01F6000000000000").signals).toEqual({ A: 1, muxed_A_1: -10 });
  expect(decode(cascaded, 1, true, "0700000000000000").signals).toEqual({ A: 7 });
  const independent = `${HEAD}BO_ 2147483650 M: 8 ECU\n SG_ MUX_A M : 0|8@1+ (1,0) [0|0] "" ECU\n SG_ MUX_B M : 16|8@1+ (1,0) [0|0] "" ECU\n SG_ muxed_A_1 m1 : 8|8@1- (1,0) [0|0] "" ECU\n SG_ muxed_B_2 m2 : 24|8@1- (1,0) [0|0] "" ECU\nSG_MUL_VAL_ 2147483650 muxed_A_1 MUX_A 1-1;\nSG_MUL_VAL_ 2147483650 muxed_B_2 MUX_B 2-2;\n`;
  expect(decode(independent, 2, true, "010A02EC00000000").signals).toEqual({ MUX_A: 1, muxed_A_1: 10, MUX_B: 2, muxed_B_2: -20 });
});

test("decodeFrame() shows integers beyond 2^53 in full and non-finite numbers by name", () => {
  const file = `${HEAD}BO_ 1 Wide: 8 ECU\n SG_ W : 0|64@1- (1,0) [0|0] "" ECU\nBO_ 2 Real: 8 ECU\n SG_ R : 0|64@1- (1,0) [0|0] "" ECU\nSIG_VALTYPE_ 2 R : 2;\n`;
  // Two's complement and IEEE 754, worked by hand.
  expect(decode(file, 1, false, "0100000000000080").signals).toEqual({ W: "-9223372036854775807" });
  expect(decode(file, 1, false, "FFFFFFFFFFFFFFFF").signals).toEqual({ W: -1 });
  expect(decode(file, 2, false, "000000000000F07F").signals).toEqual({ R: "inf" });
  expect(decode(file, 2, false, "000000000000F8BF").signals).toEqual({ R: -1.5 });
});

test("parseDbc() reads code page 1252 and UTF-8, comments over several lines, long names", () => {
  const text = `${HEAD}BO_ 1 A: 8 ECU\n SG_ T : 0|8@1+ (1,0) [0|0] "\u00b0C" ECU\nCM_ SG_ 1 T "two\nlines with \\" and ; in them";\nBA_ "SystemSignalLongSymbol" SG_ 1 T "Temperature";\n`;
  for (const bytes of [utf8.encode(text), ascii(text), utf8.encode(`\ufeff${text}`)]) {
    const [signal] = parseDbc("car.dbc", decodeFileText(bytes)).messages[0].signals;
    expect([signal.name, signal.unit, signal.comment]).toEqual(["Temperature", "\u00b0C", 'two\nlines with " and ; in them']);
  }
});

test.each([
  [
    `${HEAD}BO_ 1 A: 8 ECU\n SG_ S : 0|8@2+ (1,0) [0|0] "" ECU\n`,
    'car.dbc:8: expected byte order 0 (Motorola) or 1 (Intel) before this, got "+ (1,0) [0|0] \\"\\" ECU"',
  ],
  [`${HEAD}BO_ 1 A: 8 ECU\n SG_ S : 0|8@1+ (1;0) [0|0] "" ECU\n`, 'car.dbc:8: expected "," after the factor, got ";0) [0|0] \\"\\" ECU"'],
  [`${HEAD}BO_ one A: 8 ECU\n`, 'car.dbc:7: expected a message id, got "one A: 8 ECU"'],
  [
    `${HEAD}SG_ S : 0|8@1+ (1,0) [0|0] "" ECU\n`,
    'car.dbc:7: expected a BO_ message before this SG_ signal, got "S : 0|8@1+ (1,0) [0|0] \\""',
  ],
  [`${HEAD}CM_ "never closed`, 'car.dbc:7: expected the closing " of the comment, got the end of the file'],
  [`${HEAD}VAL_ 1 S 1 "one" 2`, "car.dbc:7: expected the text of value 2, got the end of the file"],
  [`${HEAD}/* never closed`, "car.dbc:7: expected */ at the end of this comment, got the end of the file"],
  ["hello world", "car.dbc:1: expected a section such as VERSION, BU_ or BO_; name a signal file (DBC)"],
  [`${HEAD}BO_ 1 A: 8 ECU\n|hello`, 'car.dbc:8: expected a section such as BO_, SG_, CM_ or VAL_, got "|hello"'],
])("parseDbc() names file, line, what was expected and what came (%#)", (text, message) => {
  expect(() => parseText(text)).toThrow(DbcError);
  expect(() => parseText(text)).toThrow(message);
});

test("parseDbc() warns of duplicate ids, overlaps, factor 0, signals beyond the message, and names nothing defines", () => {
  const { warnings, messages } = parseText(
    `${HEAD}BO_ 1 A: 1 ECU\n SG_ P : 0|8@1+ (0,7) [0|0] "" ECU\n SG_ Q : 4|8@1+ (1,0) [0|0] "" ECU\nBO_ 1 B: 1 ECU\n SG_ P : 0|8@1+ (1,0) [0|0] "" ECU\n SG_ Empty : 0|0@1+ (1,0) [0|0] "" ECU\nVAL_ 9 P 1 "x" ;\nCM_ SG_ 1 Z "y";\n`,
  );
  expect(warnings.join("\n")).toMatch(/car.dbc:10: message B has the id of A \(line 7\)/);
  expect(warnings.join("\n")).toMatch(/car.dbc:8: signal A.P has factor 0/);
  expect(warnings.join("\n")).toMatch(/car.dbc:9: signal A.Q overlaps P/);
  expect(warnings.join("\n")).toMatch(/car.dbc:9: signal A.Q ends in byte 1/);
  expect(warnings.join("\n")).toMatch(/car.dbc:12: signal B.Empty has start bit 0 and 0 bits/);
  expect(warnings.join("\n")).toMatch(/car.dbc:13: VAL_ names message id 9/);
  expect(warnings.join("\n")).toMatch(/car.dbc:14: CM_ names signal Z/);
  expect(warnings).toHaveLength(7);
  expect(messages.map(({ name }) => name)).toEqual(["A", "B"]);
});

test("decodeFrame() gives each signal under its own name, whatever it is called", () => {
  const names = ["__proto__", "constructor", "toString", "valueOf"];
  const lines = names.map((name, i) => ` SG_ ${name} : ${8 * i}|8@1+ (1,0) [0|0] "" E`);
  const file = `BO_ 1 __proto__: 4 E\n${lines.join("\n")}\n${names.map((name) => `VAL_ 1 ${name} 7 "seven";`).join("\n")}\n`;
  const { message, signals, text } = JSON.parse(JSON.stringify(decode(file, 1, false, "07070707")));
  expect(message).toBe("__proto__");
  expect(Object.entries(signals)).toEqual(names.map((name) => [name, 7]));
  expect(Object.entries(text)).toEqual(names.map((name) => [name, "seven"]));
});
