/**
 * Runs every *.bench.ts beside it, one after the other, each in a process of its own so that none measures another's
 * memory; words on the command line choose by name. Exits 1 if any of them did.
 */
import { spawnSync } from "node:child_process";
import { readdirSync } from "node:fs";
import { fileURLToPath } from "node:url";

const folder = fileURLToPath(new URL(".", import.meta.url));
const words = process.argv.slice(2);
const files = readdirSync(folder).filter(
  (name) => name.endsWith(".bench.ts") && (words.length === 0 || words.some((word) => name.includes(word))),
);
if (files.length === 0) console.log(`No bench matches ${words.join(" ")}`);
const failed = files.sort().filter((file) => spawnSync(process.execPath, [`${folder}${file}`], { stdio: "inherit" }).status !== 0);
if (failed.length > 0) console.log(`bench: FAILED: ${failed.join(", ")}`);
process.exitCode = failed.length > 0 || files.length === 0 ? 1 : 0;
