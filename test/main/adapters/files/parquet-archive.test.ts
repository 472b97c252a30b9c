/**
 * Reads the archive back with DuckDB (npm), an independent program, and checks docs/archive.md: its schema is the real one and its queries
 * run.
 */
import { mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { DuckDBInstance } from "@duckdb/node-api";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { ArchiveError, writeArchive } from "../../../../src/main/adapters/files/parquet-archive.ts";
import { runsCsv } from "../../../../src/shared/report/runs-csv.ts";
import { CONDITION_COLUMNS, dayOf, RUN_COLUMNS, runRow, SAMPLE_COLUMNS, samplesPath } from "../../../../src/shared/report/runs-table.ts";
import { archivedRuns } from "./archived-day.fixture.ts";

const folder = mkdtempSync(join(tmpdir(), "gripbook-archive-"));
const entries = [...archivedRuns(60, 300)];

async function ask(sql: string): Promise<Record<string, unknown>[]> {
  const db = await DuckDBInstance.create(":memory:", { autoinstall_known_extensions: "false" });
  const connection = await db.connect();
  const reader = await connection.runAndReadAll(sql);
  const rows = reader.getRowObjectsJson();
  connection.closeSync();
  return rows as Record<string, unknown>[];
}

beforeAll(async () => {
  await writeArchive(folder, entries);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe("writeArchive()", () => {
  test("DuckDB reads every cell of the table of runs", async () => {
    const rows = await ask(`SELECT * REPLACE (epoch_ms(startedAt) AS startedAt) FROM '${folder}/runs.parquet' ORDER BY runUid`);
    expect(rows).toHaveLength(60);
    entries.forEach(({ run }, i) => {
      const cells = runRow(run);
      RUN_COLUMNS.forEach(({ name, type }, c) => {
        const cell = cells[c];
        const read = rows[i]?.[name];
        const value = type === "JSON" ? JSON.parse(read as string) : type === "TIMESTAMP" && read !== null ? Number(read) : read;
        expect(value, `${run.uid} ${name}`).toEqual(type === "TIMESTAMP" ? cell : JSON.parse(JSON.stringify(cell)));
      });
    });
  });

  test("DuckDB reads every condition with its number and unit, and finds no old ones after another export", async () => {
    const read = () => ask(`SELECT * FROM '${folder}/conditions.parquet' ORDER BY runUid, condition`);
    const rows = await read();
    expect(rows).toHaveLength(120);
    expect(rows.slice(0, 2)).toEqual([
      { runUid: "run000000", condition: "slip target", text: "4 %", number: 4, unit: "%" },
      { runUid: "run000000", condition: "surface", text: entries[0]!.run.conditions.surface, number: null, unit: null },
    ]);
    const [first] = entries;
    await writeArchive(folder, [{ ...first!, run: { ...first!.run, conditions: { gain: "2" } } }]);
    expect((await read()).slice(0, 1)).toEqual([{ runUid: "run000000", condition: "gain", text: "2", number: 2, unit: "" }]);
    expect(await read()).toHaveLength(119);
    await writeArchive(folder, [first!]);
  });

  test("DuckDB reads a row a run of CSV by itself: numbers as numbers, without units among them", async () => {
    const file = join(folder, "season.csv");
    const runs = entries.map(({ run }) => run);
    const { names, units, text } = runsCsv(runs);
    writeFileSync(file, text);
    expect(units[names.indexOf("slip target")]).toBe("%");
    const rows = await ask(`SELECT * FROM read_csv('${file}') ORDER BY runUid`);
    expect(rows).toHaveLength(60);
    for (const [i, { tune, conditions, gates }] of runs.entries())
      expect(rows[i]).toMatchObject({
        // DuckDB's whole numbers come as texts.
        "slip target": conditions["slip target"]?.replace(" %", ""),
        surface: conditions.surface,
        seconds_0_60_mph: gates[0]?.seconds,
        lostSpinS: tune.losses?.spin ?? null,
      });
    // The same with a row of units: no column is one of numbers any more.
    writeFileSync(file, runsCsv(runs, true).text);
    const [type] = await ask(`SELECT typeof(seconds_0_60_mph) AS of FROM read_csv('${file}') LIMIT 1`);
    expect(type?.of).toBe("VARCHAR");
  });

  test("DuckDB reads every sample, unknown as null, with car and day from the path", async () => {
    const rows = await ask(
      `SELECT * FROM read_parquet('${folder}/samples/*/*/*.parquet', hive_partitioning = true, hive_types_autocast = false) ORDER BY runUid, timeS`,
    );
    expect(rows).toHaveLength(60 * 300);
    entries.forEach(({ run, table }, i) => {
      for (const row of [0, 150, 250, 299]) {
        const read = rows[i * 300 + row] as Record<string, unknown>;
        expect(read.runUid).toBe(run.uid);
        expect(`samples/car=${read.car}/day=${read.day}/run-${read.runUid}.parquet`).toBe(samplesPath(run));
        table.names.forEach((name, c) => {
          const value = table.columns[c]?.[row];
          const expected = name === "timeS" ? value : Math.fround(value);
          const cell = read[name.replace(".", "_")];
          if (Number.isNaN(value)) expect(cell).toBeNull();
          else expect(Math.fround(cell as number) === expected || cell === expected, `${name} ${row}: ${cell} for ${expected}`).toBe(true);
        });
        expect(read.batteryVoltage).toBeNull();
      }
    });
  });

  test("types are those documented, and units travel in the file", async () => {
    const types = await ask(`DESCRIBE SELECT * FROM '${folder}/runs.parquet'`);
    expect(types.map((row) => row.column_name)).toEqual(RUN_COLUMNS.map((column) => column.name));
    const kv = await ask(
      `SELECT decode(key) AS key, decode(value) AS value FROM parquet_kv_metadata('${folder}/${samplesPath(entries[1]!.run)}')`,
    );
    const units = JSON.parse(kv.find((row) => row.key === "units")?.value as string) as Record<string, string>;
    expect(units.groundSpeedKmh).toBe("km/h");
    expect(JSON.parse(kv.find((row) => row.key === "carUnits")?.value as string)).toMatchObject({ undrivenWheelSpeeds_0: "m/s" });
  });

  test("another export replaces its own runs, keeps the others, and leaves no half file", async () => {
    const [first] = entries;
    const summary = await writeArchive(
      folder,
      [{ ...first!, run: { ...first!.run, label: "changed" } }, ...archivedRuns(61, 10)].slice(0, 1),
    );
    expect(summary).toMatchObject({ runs: 1, runsInArchive: 60, samples: 300 });
    const rows = await ask(`SELECT runUid, label, startedAt FROM '${folder}/runs.parquet'`);
    expect(rows).toHaveLength(60);
    expect(rows.filter((row) => row.label === "changed")).toHaveLength(1);
    expect(rows.filter((row) => row.startedAt !== null)).toHaveLength(entries.filter((entry) => entry.run.startedAtUtcMs !== null).length);
    expect(readdirSync(folder).filter((name) => name.includes(".part"))).toEqual([]);
    await writeArchive(folder, [first!]);
  });

  test("says what to do with a foreign file, no runs, or a full list of sensors", async () => {
    const other = mkdtempSync(join(tmpdir(), "gripbook-archive-"));
    writeFileSync(join(other, "runs.parquet"), "not parquet at all");
    await expect(writeArchive(other, [entries[0]!])).rejects.toThrow(/no table of an archive/);
    expect(statSync(join(other, "runs.parquet")).size).toBe(18);
    await expect(writeArchive(other, [])).rejects.toThrow(ArchiveError);
    const { table, run } = entries[0]!;
    const wide = { run, table: { ...table, names: [...table.names.slice(0, -1), "undrivenWheelSpeeds.7"] } };
    await expect(writeArchive(other, [wide])).rejects.toThrow(/undrivenWheelSpeeds_7/);
    rmSync(other, { recursive: true, force: true });
  });
});

describe("docs/archive.md", () => {
  const text = readFileSync(fileURLToPath(new URL("../../../../docs/archive.md", import.meta.url)), "utf8");

  test("lists every column with its type and unit", () => {
    for (const { name, type, unit, what } of [...RUN_COLUMNS, ...CONDITION_COLUMNS, ...SAMPLE_COLUMNS]) {
      expect(text, name).toContain(`| \`${name}\` | ${type} | ${unit} | ${what} |`);
    }
  });

  test("its DuckDB queries run on an archive and find rows", async () => {
    const queries = [...text.matchAll(/```sql duckdb\n([\s\S]*?)```/g)].map((match) => (match[1] as string).replaceAll("ARCHIVE", folder));
    expect(queries.length).toBeGreaterThanOrEqual(7);
    for (const query of queries) expect((await ask(query)).length, query).toBeGreaterThan(0);
  });
});

describe("dayOf()", () => {
  test("agrees with the platform's own calendar over four centuries", () => {
    for (let day = -80_000; day < 90_000; day += 37) {
      const ms = day * 86_400_000 + 86_399_999;
      expect(dayOf(ms)).toBe(new Date(ms).toISOString().slice(0, 10));
    }
    expect(dayOf(null)).toBe("undated");
  });
});
