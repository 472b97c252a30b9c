/** Bundles modules of the program for a Node that does not run TypeScript, side by side in one folder. Throws what Vite throws. */
import { join } from "node:path";
import { OWN_MODULES } from "../own-modules.ts";

/** Not bundled: the runtime itself, packages with native parts, and what is found beside the program while it runs. */
const EXTERNAL = [/^node:/, "electron", "better-sqlite3", "serialport", /^@serialport\//, "ws", "vite"];

export interface ProgramBundle {
  readonly root: string;
  readonly outDir: string;
  /** Name in the bundle to the module's path. */
  readonly modules: Readonly<Record<string, string>>;
  readonly format: "es" | "cjs";
  /** The oldest runtime, in Vite's words. */
  readonly target: string;
}

export async function bundleProgram({ root, outDir, modules, format, target }: ProgramBundle): Promise<void> {
  const { build } = await import("vite");
  const extension = format === "es" ? "mjs" : "cjs";
  await build({
    configFile: false,
    root,
    logLevel: "warn",
    publicDir: false,
    ssr: { noExternal: true },
    build: {
      ssr: true,
      outDir,
      emptyOutDir: false,
      target,
      rolldownOptions: {
        input: { ...modules },
        external: EXTERNAL,
        output: { format, entryFileNames: `[name].${extension}`, chunkFileNames: `[name].${extension}` },
      },
    },
  });
}

/** The modules that run as processes or threads of their own, for every bundle. */
export const ownModulePaths = (root: string): Record<string, string> =>
  Object.fromEntries(Object.entries(OWN_MODULES).map(([name, place]) => [name, join(root, "src/main", place)]));
