/**
 * Bundles the program for Electron, whose Node does not run TypeScript: main and measuring process as modules, the preload script as one
 * CommonJS file.
 */
import { existsSync, statSync } from "node:fs";
import { join } from "node:path";
import { newestChange } from "../newest-change.ts";

/** Not bundled: the runtime itself and packages with native parts. */
const EXTERNAL = [/^node:/, "electron", "better-sqlite3", "serialport", /^@serialport\//, "ws", "vite"];

/** Builds into out/electron and returns the path of the main module. Throws what Vite throws. */
export async function buildShell(root: string): Promise<string> {
  const { build } = await import("vite");
  const outDir = join(root, "out/electron");
  const bundle = (input: Record<string, string>, format: "es" | "cjs", extension: string) =>
    build({
      configFile: false,
      root,
      logLevel: "warn",
      publicDir: false,
      ssr: { noExternal: true },
      build: {
        ssr: true,
        outDir,
        emptyOutDir: false,
        target: "node24",
        rolldownOptions: {
          input,
          external: EXTERNAL,
          output: { format, entryFileNames: `[name].${extension}`, chunkFileNames: `[name].${extension}` },
        },
      },
    });
  const hosts = join(root, "src/main/hosts/electron");
  const ingest = join(root, "src/main/ingest");
  const modules = {
    main: join(hosts, "main.ts"),
    ingest: join(ingest, "ingest-process.ts"),
    estimator: join(ingest, "estimator-worker.ts"),
    tuning: join(ingest, "tuning-worker.ts"),
    launch: join(ingest, "launch-worker.ts"),
    happened: join(ingest, "happened-worker.ts"),
    network: join(root, "src/main/hosts/web/web-host-process.ts"),
  };
  await bundle(modules, "es", "mjs");
  await bundle({ preload: join(hosts, "preload.ts") }, "cjs", "cjs");
  return join(outDir, "main.mjs");
}

/** The path of the main module, built again where a module is missing or older than its sources. */
export async function ensureShell(root: string): Promise<string> {
  const built = ["main.mjs", "ingest.mjs", "estimator.mjs", "tuning.mjs", "launch.mjs", "happened.mjs", "network.mjs", "preload.cjs"].map(
    (name) => join(root, "out/electron", name),
  );
  const oldest = Math.min(...built.map((file) => (existsSync(file) ? statSync(file).mtimeMs : 0)));
  const isOld = Math.max(newestChange(join(root, "src/main")), newestChange(join(root, "src/shared"))) > oldest;
  return isOld ? buildShell(root) : (built[0] as string);
}
