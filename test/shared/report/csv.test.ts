/** Sources: RFC 4180, read back by Python's csv module (Debian); W3C, Metadata Vocabulary for Tabular Data. */
import { spawnSync } from "node:child_process";
import { describe, expect, test } from "vitest";
import { tableCsv, tableText } from "../../../src/renderer/draw/chart-table.ts";
import { csvField, runCsv } from "../../../src/shared/report/csv.ts";
import { csvMetadata } from "../../../src/shared/report/csv-metadata.ts";

const timeS = Float64Array.from({ length: 1000 }, (_, i) => -5.004 + i / 100);
const table = {
  names: ["timeS", "groundSpeedKmh", "slipRatio", 'odd "name", with comma'],
  units: ["s", "km/h", "", "m/s2"],
  columns: [timeS, timeS.map((t) => Math.max(0, t) * 20), timeS.map((t) => (t < 0.5 ? Number.NaN : 0.123456789)), timeS.map(() => -0)],
};

function readByPython(text: string): string[][] | null {
  const script =
    "import csv, io, json, sys\nprint(json.dumps(list(csv.reader(io.StringIO(sys.stdin.buffer.read().decode(), newline='')))))";
  const result = spawnSync("/usr/bin/python3", ["-c", script], { input: text, encoding: "utf8", maxBuffer: 1 << 26 });
  if (result.error) {
    console.log(`skipped: reading CSV with Python, because ${result.error.message}`);
    return null;
  }
  return JSON.parse(result.stdout) as string[][];
}

describe("runCsv()", () => {
  test("has names and a row each 10 ms from 2 s before the start, and a row of units where asked", () => {
    const lines = runCsv(table).split("\r\n");
    expect(lines[0]).toBe('timeS,groundSpeedKmh,slipRatio,"odd ""name"", with comma",noted');
    expect(lines[1]).toBe("-2.004,0,,0,");
    expect(lines[2]).toMatch(/^-1\.994,/);
    expect(lines.at(-1)).toBe("");
    expect(lines).toHaveLength(1 + 700 + 1);
    expect(runCsv(table, [], true).split("\r\n").toSpliced(1, 1)).toEqual(lines);
    expect(runCsv(table, [], true).split("\r\n")[1]).toBe("s,km/h,,m/s2,");
  });

  test("rounds to a millionth, as the platform's own rounding does", () => {
    const values = Array.from({ length: 2000 }, (_, i) => (i - 1000) * 0.123456789 * 10 ** ((i % 12) - 6));
    const column = runCsv({ names: ["timeS", "x"], units: ["s", ""], columns: [values.map((_, i) => i), values] }).split("\r\n");
    for (const [i, value] of values.entries()) expect(Number(column[i + 1]?.split(",")[1])).toBe(Number(value.toFixed(6)) + 0);
  });

  test("is read by Python's csv module with the same values, unknown as empty", () => {
    const rows = readByPython(runCsv(table, [], true));
    if (!rows) return;
    expect(rows[0]).toEqual([...table.names, "noted"]);
    expect(rows[1]).toEqual([...table.units, ""]);
    for (const [i, row] of rows.slice(2).entries()) {
      expect(row).toHaveLength(5);
      expect(Number(row[0])).toBeCloseTo(timeS[i + 300], 6);
      expect(row[2]).toBe(timeS[i + 300] < 0.5 ? "" : "0.123457");
    }
  });

  test("starts with what there is when the run begins later than 2 s before", () => {
    const short = { names: ["timeS"], units: ["s"], columns: [[-0.5, -0.49]] };
    expect(runCsv(short)).toBe("timeS,noted\r\n-0.5,\r\n-0.49,\r\n");
  });

  test("refuses uneven columns and a table without time", () => {
    expect(() => runCsv({ ...table, columns: [timeS, [1], timeS, timeS] })).toThrow(/groundSpeedKmh/);
    expect(() => runCsv({ names: ["slipRatio"], units: [""], columns: [timeS] })).toThrow(/timeS/);
    expect(csvField("a\nb")).toBe('"a\nb"');
  });
});

describe("csvMetadata()", () => {
  const named = { names: ["timeS", "slipRatio"], units: ["s", ""] };
  const columns = [{ titles: "timeS", "schema:unitText": "s" }, { titles: "slipRatio" }];
  test("describes one file, several of the same columns once, and others each", () => {
    expect(JSON.parse(csvMetadata([{ file: "a run.csv", ...named }]))).toEqual({
      "@context": "http://www.w3.org/ns/csvw",
      url: "a%20run.csv",
      tableSchema: { columns },
    });
    const two = ["run-1.csv", "run-2.csv"].map((file) => ({ file, ...named }));
    expect(JSON.parse(csvMetadata(two))).toMatchObject({ tableSchema: { columns }, tables: [{ url: "run-1.csv" }, { url: "run-2.csv" }] });
    const apart = JSON.parse(csvMetadata([...two, { file: "run-3.csv", names: ["timeS"], units: ["s"] }]));
    expect(apart.tableSchema).toBeUndefined();
    expect(apart.tables[2]).toEqual({ url: "run-3.csv", tableSchema: { columns: [columns[0]] } });
  });
});

describe("a cell that a spreadsheet would run (owasp.org, CSV Injection)", () => {
  const FORMULAS = ["=cmd|' /C calc'!A0", "+1+1", "-2+3", "@SUM(A1)", "\t=1", "\r=1", "\uff1d1+1", '=HYPERLINK("http://x","y")'];
  test("is kept as text in a run's file, in a chart's and on the clipboard; figures stay figures", () => {
    for (const formula of FORMULAS) {
      const named = { names: ["timeS", formula], units: ["s", formula], columns: [[0], [-1.5]] };
      const chart = { columns: [{ name: formula, unit: "" }], rows: [[formula], [-1.5]] };
      const [names, units, values] = readByPython(runCsv(named, [], true)) ?? [];
      if (names === undefined) return;
      expect([names[1], units?.[1], values?.[1]]).toEqual([`'${formula}`, `'${formula}`, "-1.5"]);
      for (const rows of [
        readByPython(tableCsv(chart)) ?? [],
        tableText(chart)
          .split("\n")
          .map((line) => line.split("\t")),
      ])
        for (const [row, [cell = ""]] of rows.entries()) {
          if (row === 2) expect(cell).toBe("-1.5");
          else expect(cell).not.toMatch(/^[=+\-@\t\r\uff1d]/);
        }
    }
  });

  test("holds a separator of another country's spreadsheet within its quotes", () => {
    expect(csvField("a;=1")).toBe('"a;=1"');
  });
});
