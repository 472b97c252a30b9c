/**
 * Runs every *.bench.ts beside it, one after the other, each in a process of its own so that none measures another's
 * memory; words on the command line choose by name. Writes what they measured as data and as a page, test-output/bench.json and .html. Exits 1 if any
 * of them did.
 */
import { spawnSync } from "node:child_process";
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { availableParallelism, cpus, loadavg, tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import type { BenchRun } from "./bench-data.ts";
import { benchPage } from "./bench-page.ts";

const folder = fileURLToPath(new URL(".", import.meta.url));
const output = fileURLToPath(new URL("../../test-output", import.meta.url));
const words = process.argv.slice(2);
const files = readdirSync(folder)
  .filter((name) => name.endsWith(".bench.ts") && (words.length === 0 || words.some((word) => name.includes(word))))
  .sort();
if (files.length === 0) console.log(`No bench matches ${words.join(" ")}`);

const machine = {
  processor: cpus()[0]?.model ?? "unknown",
  cores: availableParallelism(),
  node: process.versions.node,
  load: loadavg()[0] ?? Number.NaN,
};
const measuredAt = new Date().toISOString();
const told = mkdtempSync(join(tmpdir(), "gripbook-bench-"));
const env = { ...process.env, GRIPBOOK_BENCH: told };
const bad = files.filter((file) => spawnSync(process.execPath, [`${folder}${file}`], { stdio: "inherit", env }).status !== 0);

type Part = Pick<BenchRun, "figures" | "series" | "skipped">;
const nameOf = (file: string) => file.replace(".bench.ts", "");
const partOf = (file: string): Part | null => {
  const path = join(told, `${nameOf(file)}.json`);
  return existsSync(path) ? (JSON.parse(readFileSync(path, "utf8")) as Part) : null;
};
const parts = files.map(partOf).filter((part) => part !== null);
rmSync(told, { recursive: true, force: true });
const figures = parts.flatMap((part) => part.figures);
// One that broke off says so itself where a gate of its own was not held.
const failed = bad.map(nameOf).filter((name) => !figures.some(({ bench, held }) => bench === name && held === false));
const run: BenchRun = {
  measuredAt,
  machine,
  figures,
  series: parts.flatMap((part) => part.series),
  skipped: parts.flatMap((part) => part.skipped),
  failed,
};
if (files.length > 0) {
  mkdirSync(output, { recursive: true });
  writeFileSync(join(output, "bench.json"), `${JSON.stringify(run, null, 2)}\n`);
  writeFileSync(join(output, "bench.html"), benchPage(run));
  console.log(`bench: ${figures.length} figures in test-output/bench.html and bench.json`);
}
if (bad.length > 0) console.log(`bench: FAILED: ${bad.join(", ")}`);
process.exitCode = bad.length > 0 || files.length === 0 ? 1 : 0;
