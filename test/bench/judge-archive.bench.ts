/** An archive of 5,000 runs, written and queried (best 0-60 by car and surface) by DuckDB: gate 1 s. Exits 1 above it. */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { DuckDBInstance } from "@duckdb/node-api";
import { writeArchive } from "../../src/main/adapters/files/parquet-archive.ts";
import { archivedRuns } from "../main/adapters/files/archived-day.fixture.ts";

const RUNS = 5000;
const ROWS = 800;
const GATE_MS = 1000;

const folder = mkdtempSync(join(tmpdir(), "gripbook-archive-bench-"));
try {
  const writing = performance.now();
  const { samples } = await writeArchive(folder, archivedRuns(RUNS, ROWS));
  console.log(`archive: ${RUNS} runs, ${samples} samples written in ${((performance.now() - writing) / 1000).toFixed(1)} s`);
  const connection = await (await DuckDBInstance.create(":memory:", { threads: "2", autoinstall_known_extensions: "false" })).connect();
  const ask = async (title: string, sql: string): Promise<number> => {
    const times: number[] = [];
    for (let i = 0; i < 5; i += 1) {
      const from = performance.now();
      await connection.runAndReadAll(sql);
      times.push(performance.now() - from);
    }
    const sorted = [...times].sort((a, b) => a - b);
    console.log(
      `archive: ${title}: first ${times[0]?.toFixed(0)} ms, median ${sorted[2]?.toFixed(0)} ms, worst ${sorted[4]?.toFixed(0)} ms`,
    );
    return sorted[4];
  };
  const worst = await ask(
    "best 0-60 mph by car and surface",
    `SELECT car, surface, count(*), min(seconds_0_60_mph) FROM '${folder}/runs.parquet' WHERE inUse AND seconds_0_60_mph IS NOT NULL GROUP BY car, surface`,
  );
  await ask(
    "the same from the samples alone (first time over 60 mph)",
    `SELECT car, min(t) FROM (SELECT car, runUid, min(timeS) AS t FROM read_parquet('${folder}/samples/*/*/*.parquet', hive_partitioning = true) WHERE groundSpeedKmh >= 96.56064 GROUP BY car, runUid) GROUP BY car`,
  );
  if (worst > GATE_MS) {
    console.log(`archive: FAILED, ${worst.toFixed(0)} ms is over ${GATE_MS} ms`);
    process.exitCode = 1;
  }
} finally {
  rmSync(folder, { recursive: true, force: true });
}
