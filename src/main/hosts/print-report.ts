/**
 * Prints a report page by an installed Chromium: PDF whole, PNG of its summary. The page is written to a temporary folder that is removed again,
 * as an archive: such a page runs nothing, loads nothing and leads nowhere. Without such a browser, or when it fails, throws PrintError with one line that names the remedy.
 */
import { spawn } from "node:child_process";
import { accessSync, constants, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { delimiter, join } from "node:path";
import { pathToFileURL } from "node:url";
import { pageArchive } from "./page-archive.ts";
import { summaryPage } from "./summary-page.ts";

export type PrintFormat = "pdf" | "png";

class PrintError extends Error {
  readonly code = "print";
}

/** Names a path or a command of a Chromium that is not found by itself. */
const CHOICE = "GRIPBOOK_CHROMIUM";
const COMMANDS = ["chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "microsoft-edge", "chrome.exe", "msedge.exe"];
const PLACES = [
  "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
  "/Applications/Chromium.app/Contents/MacOS/Chromium",
  "C:\\Program Files\\Google\\Chrome\\Application\\chrome.exe",
  "C:\\Program Files (x86)\\Microsoft\\Edge\\Application\\msedge.exe",
];
const LIMIT_MS = 60_000;

function runs(file: string): boolean {
  try {
    accessSync(file, constants.X_OK);
    return true;
  } catch {
    return false;
  }
}

/** The browser to print with; null where none is installed. */
function findChromium(environment: NodeJS.ProcessEnv): string | null {
  const chosen = environment[CHOICE];
  if (chosen !== undefined && chosen !== "") return runs(chosen) ? chosen : null;
  const folders = (environment.PATH ?? "").split(delimiter).filter((folder) => folder !== "");
  return [...COMMANDS.flatMap((command) => folders.map((folder) => join(folder, command))), ...PLACES].find(runs) ?? null;
}

/** Root has no sandbox to give to Chromium; everyone else keeps it. */
const sandbox = () => (process.getuid?.() === 0 ? ["--no-sandbox"] : []);

function run(executable: string, given: readonly string[], signal: AbortSignal): Promise<string | null> {
  return new Promise((done) => {
    const child = spawn(executable, given, { stdio: ["ignore", "ignore", "pipe"] });
    let said = "";
    child.stderr.setEncoding("utf8").on("data", (text: string) => {
      said = `${said}${text}`.slice(-2000);
    });
    const kill = () => child.kill("SIGKILL");
    const timer = setTimeout(kill, LIMIT_MS);
    signal.addEventListener("abort", kill);
    child.once("error", (error) => done(error.message));
    child.once("close", (code) => {
      clearTimeout(timer);
      signal.removeEventListener("abort", kill);
      done(code === 0 ? null : (said.trim().split("\n").at(-1) ?? `ended with ${code}`));
    });
  });
}

const NEVER = new AbortController().signal;

/** `signal` aborted: the browser is ended, and the call rejects with its reason. */
export async function printReport(
  html: string,
  format: PrintFormat,
  signal: AbortSignal = NEVER,
  environment: NodeJS.ProcessEnv = process.env,
): Promise<Uint8Array> {
  const executable = findChromium(environment);
  const remedy = `install Chromium (Debian: apt install chromium), name one in ${CHOICE}, or save the report as .html and print it from any browser`;
  if (executable === null) throw new PrintError(`Report as ${format.toUpperCase()}: no Chromium found to print with; ${remedy}`);
  const folder = mkdtempSync(join(tmpdir(), "gripbook-print-"));
  try {
    const [page, out] = [join(folder, "report.mhtml"), join(folder, `report.${format}`)];
    const summary = summaryPage(html);
    writeFileSync(page, pageArchive(format === "png" ? summary.html : html));
    const how =
      format === "pdf"
        ? [`--print-to-pdf=${out}`, "--no-pdf-header-footer"]
        : [`--screenshot=${out}`, `--window-size=${summary.width},${summary.height}`, "--force-device-scale-factor=2", "--hide-scrollbars"];
    const quiet = [
      "--headless",
      "--disable-gpu",
      "--no-first-run",
      "--disable-extensions",
      "--disable-background-networking",
      "--disable-sync",
    ];
    // For what the browser asks by itself: no names, and a proxy where nobody listens (port 9, "discard").
    const dead = ["--proxy-server=http://127.0.0.1:9", "--proxy-bypass-list=<-loopback>"];
    const offline = ["--host-resolver-rules=MAP * ~NOTFOUND", ...dead, `--user-data-dir=${join(folder, "profile")}`];
    const failed = await run(executable, [...quiet, ...offline, ...sandbox(), ...how, pathToFileURL(page).href], signal);
    signal.throwIfAborted();
    try {
      return readFileSync(out);
    } catch (cause) {
      throw new PrintError(`Report as ${format.toUpperCase()}: ${executable} printed nothing (${failed ?? "no reason given"}); ${remedy}`, {
        cause,
      });
    }
  } finally {
    // Chromium's last helpers may still write into their profile.
    rmSync(folder, { recursive: true, force: true, maxRetries: 10, retryDelay: 100 });
  }
}
