/** A signal file's bytes as text, against Python's own decoders: the cp1252 table (Unicode's CP1252.TXT) and strict UTF-8. */
import { spawnSync } from "node:child_process";
import { existsSync } from "node:fs";
import { expect, test } from "vitest";
import { decodeFileText } from "../../../src/shared/dbc/text-encoding.ts";

/** What Python makes of the bytes; UTF-8 is tried first, as in the product. */
const SCRIPT = `
import json, sys
def text(data):
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", "replace")
print(json.dumps([text(bytes.fromhex(line)) for line in sys.stdin.read().split()]))`;

const python = "/usr/bin/python3";

function byPython(pieces: readonly Uint8Array[]): string[] {
  const input = pieces.map((piece) => Buffer.from(piece).toString("hex")).join("\n");
  const { status, stdout, error } = spawnSync(python, ["-c", SCRIPT], { input, encoding: "utf8" });
  expect([status, error]).toEqual([0, undefined]);
  return JSON.parse(stdout);
}

/** Not UTF-8: it begins with a byte that never stands alone. */
const asCp1252 = (byte: number) => Uint8Array.of(0xb0, 0x20, byte, 0x20);

test.skipIf(!existsSync(python))(
  "decodeFileText() reads code page 1252 and broken UTF-8 as Python does [skipped where Python is not installed]",
  () => {
    const pieces = [
      ...Array.from({ length: 256 }, (_, byte) => asCp1252(byte)),
      // Two, three and four bytes; a surrogate, a longer form than needed, beyond U+10FFFF, cut off, a lone continuation.
      ...["c2b0", "e282ac", "f09f9a97", "eda080", "c080", "e0809f", "f4908080", "e282", "4180", "efbbbf4142", "efbbbfb0"].map((hex) =>
        Uint8Array.from(Buffer.from(hex, "hex")),
      ),
    ];
    expect(pieces.map(decodeFileText)).toEqual(byPython(pieces));
  },
);
