/** Finds or fetches the Electron runtime and runs our shell in it. A runtime that cannot be had is an answer with its reason, not an error. */
import { spawn } from "node:child_process";
import { existsSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { dirname, join } from "node:path";
import { buildShell } from "./shell-build.ts";

export type FoundElectron = { readonly executable: string } | { readonly executable: null; readonly why: string };

/** The promise of `npm start`: longer than this, and the browser is the better answer. */
const FETCH_LIMIT_MS = 20_000;

/** The npm package's folder; null where it is not installed (a production install). */
function packageFolder(): string | null {
  try {
    return dirname(createRequire(import.meta.url).resolve("electron/package.json"));
  } catch {
    return null;
  }
}

function installed(folder: string): string | null {
  const pathFile = join(folder, "path.txt");
  if (!existsSync(pathFile)) return null;
  const executable = join(process.env.ELECTRON_OVERRIDE_DIST_PATH ?? join(folder, "dist"), readFileSync(pathFile, "utf8").trim());
  return existsSync(executable) ? executable : null;
}

/** Runs the package's own fetch, quietly. */
function fetchRuntime(folder: string, limitMs: number): Promise<"fetched" | "failed" | "too slow"> {
  return new Promise((resolve) => {
    const child = spawn(process.execPath, [join(folder, "install.js")], { stdio: "ignore" });
    const timer = setTimeout(() => {
      child.kill("SIGKILL");
      resolve("too slow");
    }, limitMs);
    child.once("exit", (code) => {
      clearTimeout(timer);
      resolve(code === 0 ? "fetched" : "failed");
    });
  });
}

/** The runtime's executable, fetched if need be within 20 s. */
export async function findElectron(limitMs = FETCH_LIMIT_MS): Promise<FoundElectron> {
  const folder = packageFolder();
  if (folder === null) return { executable: null, why: "The Electron package is not installed" };
  const there = installed(folder);
  if (there !== null) return { executable: there };
  const outcome = await fetchRuntime(folder, limitMs);
  const executable = outcome === "fetched" ? installed(folder) : null;
  if (executable !== null) return { executable };
  return {
    executable: null,
    why:
      outcome === "too slow"
        ? `The Electron runtime did not arrive within ${limitMs / 1000} s`
        : "The Electron runtime is not here and cannot be fetched",
  };
}

export interface RunElectronOptions {
  readonly executable: string;
  readonly root: string;
  readonly screensFolder: string;
  readonly coreArguments: readonly string[];
}

/** Runs the shell until its window closes; answers its exit code. */
export async function runElectron({ executable, root, screensFolder, coreArguments }: RunElectronOptions): Promise<number> {
  const shell = await buildShell(root);
  const child = spawn(executable, [shell, "--screens", screensFolder, "--", ...coreArguments], { stdio: "inherit" });
  return new Promise((resolve, reject) => {
    child.once("error", reject);
    child.once("exit", (code) => resolve(code ?? 1));
  });
}
