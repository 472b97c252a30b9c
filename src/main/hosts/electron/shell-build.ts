/** Bundles the shell for Electron, whose Node does not run TypeScript: main and measuring process as modules, the preload as one CommonJS file. */
import { join } from "node:path";

/** Left to Node's own loader: the runtime itself and packages with native parts. */
const EXTERNAL = [/^node:/, "electron", "better-sqlite3", "serialport", /^@serialport\//, "ws", "vite"];

/** Builds into out/electron and answers the path of the main module. Throws what Vite throws. */
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
  };
  await bundle(modules, "es", "mjs");
  await bundle({ preload: join(hosts, "preload.ts") }, "cjs", "cjs");
  return join(outDir, "main.mjs");
}
