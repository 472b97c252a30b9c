/**
 * Builds the screens with Vite when out/renderer is missing or older than its sources. Without Vite (a packaged program) the existing build
 * is used.
 */
import { existsSync, statSync } from "node:fs";
import { join } from "node:path";
import { newestChange } from "./newest-change.ts";

/** Whether the built screens are missing or older than their sources. */
function screensAreOld(root: string): boolean {
  const index = join(root, "out/renderer/index.html");
  if (!existsSync(index)) return true;
  const built = statSync(index).mtimeMs;
  const sources = ["src/renderer", "src/shared", "docs/handbook"].map((folder) => newestChange(join(root, folder)));
  return Math.max(...sources) > built;
}

/** The folder of the built screens. */
export async function ensureScreens(root: string): Promise<string> {
  const folder = join(root, "out/renderer");
  if (screensAreOld(root)) {
    const { build } = await import("vite");
    await build({ configFile: join(root, "src/renderer/vite.config.ts"), logLevel: "warn" });
  }
  return folder;
}
