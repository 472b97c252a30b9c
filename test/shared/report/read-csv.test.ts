/** Sources: RFC 4180, section 2, rules 1 to 7 with their examples; Python's csv module. */
import { spawnSync } from "node:child_process";
import fc from "fast-check";
import { expect, test } from "vitest";
import { csvRows } from "../../../src/shared/report/csv.ts";
import { readCsv } from "../../../src/shared/report/read-csv.ts";

test.each([
  [
    "aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n",
    [
      ["aaa", "bbb", "ccc"],
      ["zzz", "yyy", "xxx"],
    ],
  ],
  [
    "aaa,bbb,ccc\r\nzzz,yyy,xxx",
    [
      ["aaa", "bbb", "ccc"],
      ["zzz", "yyy", "xxx"],
    ],
  ],
  [
    '"aaa","bbb","ccc"\r\nzzz,yyy,xxx',
    [
      ["aaa", "bbb", "ccc"],
      ["zzz", "yyy", "xxx"],
    ],
  ],
  [
    '"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx',
    [
      ["aaa", "b\r\nbb", "ccc"],
      ["zzz", "yyy", "xxx"],
    ],
  ],
  ['"aaa","b""bb","ccc"', [["aaa", 'b"bb', "ccc"]]],
  [
    "\ufeffrun,label\n1,\n\n2,b,\n",
    [
      ["run", "label"],
      ["1", ""],
      ["2", "b", ""],
    ],
  ],
  ["", []],
])("readCsv() reads %j", (text, rows) => {
  expect(readCsv(text)).toEqual(rows);
});

test("readCsv() names the row of a quote out of place", () => {
  for (const text of ['a,b\r\n1,"x', 'a,b\r\n1,x"y"', 'a,b\r\n1,"x"y']) expect(() => readCsv(text)).toThrow(/^Table, row 2: /);
});

test("what csvRows() writes, readCsv() and Python's csv module read alike", () => {
  const words = fc.array(
    fc.tuple(fc.constant("1"), fc.string({ unit: fc.constantFrom("a", ",", '"', "\n", "\r\n", "=", "-", "'", " ", "é") })),
    { maxLength: 4 },
  );
  const tables = fc.sample(words, { numRuns: 200, seed: 4180 }).filter((rows) => rows.length > 0);
  for (const rows of tables) expect(readCsv(csvRows(rows))).toEqual(rows);
  const program =
    "import csv, json, io, sys\nprint(json.dumps([list(csv.reader(io.StringIO(t, newline=''))) for t in json.load(sys.stdin)]))";
  const python = spawnSync("/usr/bin/python3", ["-c", program], { input: JSON.stringify(tables.map(csvRows)), encoding: "utf8" });
  if (python.error) return console.log(`skipped: Python's csv module, because ${python.error.message}`);
  const quiet = (text: string) => text.replace(/^'(?='*[=+\-@\t\r\n])/, "");
  expect((JSON.parse(python.stdout) as string[][][]).map((rows) => rows.map((row) => row.map(quiet)))).toEqual(tables);
});
