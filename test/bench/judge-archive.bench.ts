/** An archive of 5,000 runs, written and queried (best 0-60 by car and surface) by DuckDB: gate 1 s. */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { DuckDBInstance } from "@duckdb/node-api";
import { writeArchive } from "../../src/main/adapters/files/parquet-archive.ts";
import { archivedRuns } from "../main/adapters/files/archived-day.fixture.ts";
import { tellBench } from "./tell-bench.ts";

const RUNS = 5000;
const ROWS = 800;
const GATE_MS = 1000;
const bench = tellBench("judge-archive");

const folder = mkdtempSync(join(tmpdir(), "gripbook-archive-bench-"));
try {
  const writing = performance.now();
  const { samples } = await writeArchive(folder, archivedRuns(RUNS, ROWS));
  bench.figure({
    name: "written",
    what: `${RUNS} runs, ${samples} samples written`,
    value: (performance.now() - writing) / 1000,
    unit: "s",
  });
  const connection = await (await DuckDBInstance.create(":memory:", { threads: "2", autoinstall_known_extensions: "false" })).connect();
  const ask = async (name: string, title: string, sql: string, limit: number | null): Promise<void> => {
    const times: number[] = [];
    for (let i = 0; i < 5; i += 1) {
      const from = performance.now();
      await connection.runAndReadAll(sql);
      times.push(performance.now() - from);
    }
    bench.figure({
      name,
      what: `${title}, ${RUNS} runs, by DuckDB: slowest of five`,
      value: Math.max(...times),
      unit: "ms",
      gate: limit === null ? null : { of: "value", is: "at most", limit },
    });
  };
  await ask(
    "best",
    "best 0-60 mph by car and surface",
    `SELECT car, surface, count(*), min(seconds_0_60_mph) FROM '${folder}/runs.parquet' WHERE inUse AND seconds_0_60_mph IS NOT NULL GROUP BY car, surface`,
    GATE_MS,
  );
  await ask(
    "best-from-samples",
    "the same from the samples alone (first time over 60 mph)",
    `SELECT car, min(t) FROM (SELECT car, runUid, min(timeS) AS t FROM read_parquet('${folder}/samples/*/*/*.parquet', hive_partitioning = true) WHERE groundSpeedKmh >= 96.56064 GROUP BY car, runUid) GROUP BY car`,
    null,
  );
} finally {
  rmSync(folder, { recursive: true, force: true });
}
