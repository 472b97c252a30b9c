/**
 * Opens the system's browser at an address that lets it in. Anybody on the machine can read the arguments of processes, so the browser gets
 * a file that only this person can read and that leads to the address. Where there is no browser, or no screen, the answer is null, and the
 * caller prints the address.
 */
import { spawn } from "node:child_process";
import { existsSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { homedir, tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";

export interface OpenedBrowser {
  /** Removes the file: the page has opened, or nobody waits for it any more. */
  forget(): void;
}

const OPENERS: Readonly<Record<string, readonly string[]>> = {
  darwin: ["open"],
  win32: ["rundll32", "url.dll,FileProtocolHandler"],
};

/** A browser installed as a snap has its own temporary folder, and in the home folder it reads only visible files. */
const placeOf = () => (process.platform === "linux" && existsSync("/snap") ? homedir() : tmpdir());

export async function openBrowser(address: string): Promise<OpenedBrowser | null> {
  if (process.platform === "linux" && !process.env.DISPLAY && !process.env.WAYLAND_DISPLAY) return null;
  const [command, ...fixed] = OPENERS[process.platform] ?? ["xdg-open"];
  if (command === undefined) return null;
  // The folder has mode 0700, the file in it 0600.
  const folder = mkdtempSync(join(placeOf(), "gripbook-open-"));
  const forget = () => rmSync(folder, { recursive: true, force: true });
  const file = join(folder, "gripbook.html");
  const page = `<!doctype html><title>Gripbook</title><meta name="referrer" content="no-referrer"><meta http-equiv="refresh" content="0;url=${address}">\n`;
  writeFileSync(file, page, { mode: 0o600, flag: "wx" });
  const isOpened = await new Promise<boolean>((resolve) => {
    const child = spawn(command, [...fixed, pathToFileURL(file).href], { stdio: "ignore", detached: true });
    child.once("error", () => resolve(false));
    child.once("spawn", () => {
      child.unref();
      resolve(true);
    });
  });
  if (isOpened) return { forget };
  forget();
  return null;
}
