/**
 * Finds the Electron runtime, or has it downloaded in the background. A slow download continues after this start, and the next start waits
 * for the same one. Where no runtime can be had, the answer is the reason, not an error.
 */
import { spawn } from "node:child_process";
import { existsSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { fetchUnderWay } from "./fetch-note.ts";

export type FoundElectron = { readonly executable: string } | { readonly executable: null; readonly why: string };

export interface FindElectronOptions {
  /** The npm package's folder; null where it is not installed. */
  readonly folder: string | null;
  /** When it takes longer than this, the browser is used this time. */
  readonly waitMs: number;
  readonly environment: Readonly<Record<string, string | undefined>>;
}

const WAIT_MS = 15_000;
const LOOK_MS = 100;
const FETCHER = fileURLToPath(new URL("./fetch-electron.ts", import.meta.url));
/** As in the package's own install.js. */
const EXECUTABLES: Readonly<Record<string, string>> = { darwin: "Electron.app/Contents/MacOS/Electron", win32: "electron.exe" };

function packageFolder(): string | null {
  try {
    return dirname(createRequire(import.meta.url).resolve("electron/package.json"));
  } catch {
    return null;
  }
}

function installed(folder: string, environment: FindElectronOptions["environment"]): string | null {
  const pathFile = join(folder, "path.txt");
  const given = environment.ELECTRON_OVERRIDE_DIST_PATH;
  // The package writes this file last: without it the downloaded folder is not complete.
  if (given === undefined && !existsSync(pathFile)) return null;
  const name = existsSync(pathFile) ? readFileSync(pathFile, "utf8").trim() : (EXECUTABLES[process.platform] ?? "electron");
  const executable = join(given ?? join(folder, "dist"), name);
  return existsSync(executable) ? executable : null;
}

/** The runtime that is already here; downloads nothing. */
export function installedElectron(): string | null {
  const folder = packageFolder();
  return folder === null ? null : installed(folder, process.env);
}

export async function findElectron(given: Partial<FindElectronOptions> = {}): Promise<FoundElectron> {
  const { folder = packageFolder(), waitMs = WAIT_MS, environment = process.env } = given;
  if (folder === null) return { executable: null, why: "The Electron package is not installed" };
  const there = installed(folder, environment);
  if (there !== null) return { executable: there };
  if (environment.ELECTRON_OVERRIDE_DIST_PATH !== undefined)
    return { executable: null, why: "ELECTRON_OVERRIDE_DIST_PATH names a folder without an Electron runtime" };
  if (!fetchUnderWay(folder)) {
    const child = spawn(process.execPath, [FETCHER, folder], { stdio: "ignore", detached: true });
    const started = await new Promise<boolean>((resolve) => {
      child.once("spawn", () => resolve(true));
      child.once("error", () => resolve(false));
    });
    child.unref();
    if (!started) return { executable: null, why: "The Electron runtime is not here, and nothing could be started to fetch it" };
    let isRunning = true;
    child.once("exit", () => {
      isRunning = false;
    });
    return wait(() => isRunning);
  }
  return wait(() => fetchUnderWay(folder as string));

  async function wait(isUnderWay: () => boolean): Promise<FoundElectron> {
    const until = performance.now() + waitMs;
    for (;;) {
      // Asked first: the download may have ended just after the runtime was looked for.
      const goesOn = isUnderWay();
      const executable = installed(folder as string, environment);
      if (executable !== null) return { executable };
      if (!goesOn) return { executable: null, why: "The Electron runtime is not here and cannot be fetched" };
      if (performance.now() > until) break;
      await new Promise((resolve) => setTimeout(resolve, LOOK_MS));
    }
    const why = "The Electron runtime is still being fetched, which goes on in the background: the window will be there at the next start";
    return { executable: null, why };
  }
}
