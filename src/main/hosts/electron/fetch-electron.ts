/**
 * Runs the Electron package's own download, in a process that may outlive the start which began it. Exits with the download's exit code, or
 * with 1 after an hour.
 */
import { createRequire } from "node:module";
import { join } from "node:path";
import { LONGEST_FETCH_MS, noteFetch } from "./fetch-note.ts";

const [folder] = process.argv.slice(2);
if (folder === undefined) throw new RangeError("fetch-electron: expected the Electron package's folder");
process.on("exit", noteFetch(folder));
setTimeout(() => process.exit(1), LONGEST_FETCH_MS).unref();
createRequire(import.meta.url)(join(folder, "install.js"));
