/** Builds the screens with Vite when out/renderer is missing or older than its sources. Without Vite (a packaged program) what is there is used. */
import { existsSync, readdirSync, statSync } from "node:fs";
import { join } from "node:path";

/** Newest change under a folder, ms since 1970; 0 when it is not there. */
function newest(folder: string): number {
  if (!existsSync(folder)) return 0;
  return readdirSync(folder, { withFileTypes: true, recursive: true })
    .filter((entry) => entry.isFile())
    .reduce((latest, entry) => Math.max(latest, statSync(join(entry.parentPath, entry.name)).mtimeMs), 0);
}

/** Whether the built screens are missing or older than what they are built from. */
function screensAreOld(root: string): boolean {
  const index = join(root, "out/renderer/index.html");
  if (!existsSync(index)) return true;
  const built = statSync(index).mtimeMs;
  return Math.max(newest(join(root, "src/renderer")), newest(join(root, "src/shared"))) > built;
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
