/**
 * Bundles the program for Electron, whose Node does not run TypeScript: main and measuring process as modules, the preload script as one
 * CommonJS file.
 */
import { existsSync, statSync } from "node:fs";
import { join } from "node:path";
import { OWN_MODULES } from "../../own-modules.ts";
import { newestChange } from "../newest-change.ts";
import { bundleProgram, ownModulePaths } from "../program-build.ts";

const TARGET = "node24";
const BUILT = ["main.mjs", ...Object.keys(OWN_MODULES).map((name) => `${name}.mjs`), "preload.cjs"];

/** Builds into out/electron and returns the path of the main module. Throws what Vite throws. */
export async function buildShell(root: string): Promise<string> {
  const outDir = join(root, "out/electron");
  const hosts = join(root, "src/main/hosts/electron");
  const modules = { main: join(hosts, "main.ts"), ...ownModulePaths(root) };
  await bundleProgram({ root, outDir, modules, format: "es", target: TARGET });
  await bundleProgram({ root, outDir, modules: { preload: join(hosts, "preload.ts") }, format: "cjs", target: TARGET });
  return join(outDir, "main.mjs");
}

/** The path of the main module, built again where a module is missing or older than its sources. */
export async function ensureShell(root: string): Promise<string> {
  const built = BUILT.map((name) => join(root, "out/electron", name));
  const oldest = Math.min(...built.map((file) => (existsSync(file) ? statSync(file).mtimeMs : 0)));
  const isOld = Math.max(newestChange(join(root, "src/main")), newestChange(join(root, "src/shared"))) > oldest;
  return isOld ? buildShell(root) : (built[0] as string);
}
