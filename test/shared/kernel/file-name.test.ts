/**
 * Names for files against the rules of POSIX and Windows: Node's own `path` for both, and the reserved names of learn.microsoft.com,
 * "Naming Files, Paths, and Namespaces".
 */
import { posix, win32 } from "node:path";
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { isGivenName, isPlainFileName, nameForPath } from "../../../src/shared/kernel/file-name.ts";
import { samplesPath } from "../../../src/shared/report/runs-table.ts";

describe("isPlainFileName()", () => {
  test.each(["car.dbc", "Motor & inverter (2).dbc", "Fahrzeug Größe.dbc", "車.dbc", "slip=8 %.xml", "a-b_c.tar.gz"])("takes %j", (name) => {
    expect(isPlainFileName(name)).toBe(true);
  });
  test.each([
    "",
    ".bashrc",
    "-rf",
    "~",
    " car.dbc",
    "car.dbc ",
    "car.",
    "a\nb.dbc",
    "a\rb",
    "a\u001b[31m.dbc",
    "a\u0000b",
    "a\u202egnp.exe",
    "a\u2028b",
    "../car.dbc",
    "a/b",
    "a\\b",
    "C:car.dbc",
    "car.dbc:stream",
    "*",
    "con",
    "NUL.dbc",
    "com1.txt",
    "x".repeat(81),
  ])("refuses %j", (name) => expect(isPlainFileName(name)).toBe(false));

  test("whatever it takes is one name in one folder, on POSIX and on Windows", () => {
    const name = fc.oneof(
      fc.string({ unit: "binary", maxLength: 20 }),
      fc.string({ unit: fc.constantFrom(..."ab./\\:-~ \n\u001b\u202e"), maxLength: 8 }),
    );
    fc.assert(
      fc.property(name, (text) => {
        fc.pre(isPlainFileName(text));
        for (const { normalize, join, dirname, basename } of [posix, win32]) {
          expect(dirname(join("folder", text))).toBe("folder");
          expect(basename(join("folder", text))).toBe(text);
          // Node's win32 takes "con@" for the device "con" and puts `.\` before it, which is the same name in the same folder.
          expect(dirname(normalize(text))).toBe(".");
          expect(basename(normalize(text))).toBe(text);
        }
        expect(Buffer.byteLength(text)).toBeLessThanOrEqual(240);
      }),
      { numRuns: 500, examples: [["con@"]] },
    );
  });
});

test("a path is built of given names alone: nothing a book holds leads out of the archive's folder", () => {
  fc.assert(
    fc.property(
      fc.string({ unit: "binary", maxLength: 200 }),
      fc.string({ maxLength: 40 }),
      fc.oneof(fc.double(), fc.constant(null)),
      (car, uid, at) => {
        expect(nameForPath(car, "unnamed")).toMatch(/^[a-z0-9][a-z0-9-]{0,79}$/);
        if (!isGivenName(uid)) {
          expect(() => samplesPath({ uid, car, startedAtUtcMs: at })).toThrow(RangeError);
          return;
        }
        const path = samplesPath({ uid, car, startedAtUtcMs: at });
        expect(posix.normalize(path)).toBe(path);
        expect(path.split("/")).toHaveLength(4);
        expect(path.startsWith("samples/car=")).toBe(true);
      },
    ),
    { numRuns: 500 },
  );
  for (const uid of ["../../../evil", "a/b", "..", "a\nb", "", "-rf"])
    expect(() => samplesPath({ uid, car: "Odrel", startedAtUtcMs: 0 })).toThrow(RangeError);
});
