/**
 * Prints a report page with an installed Chromium: PDF of all, PNG of the summary. The page is written to a temporary folder, which is
 * removed again. It is written as an archive: such a page runs nothing, loads nothing and leads nowhere. Without a browser, or when it
 * fails, throws PrintError with one line that names the remedy.
 */
import { spawn } from "node:child_process";
import { accessSync, constants, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { delimiter, join } from "node:path";
import { pathToFileURL } from "node:url";
import { html, type Markup } from "../../shared/kernel/html.ts";
import { pageArchive } from "./page-archive.ts";
import { summaryPage } from "./summary-page.ts";

export type PrintFormat = "pdf" | "png";

/** Sheets that the report is laid out for. */
export const PAPERS = ["A4", "letter"] as const;
export type Paper = (typeof PAPERS)[number];
/** Where letter is what lies in the tray (Unicode CLDR, paper sizes by region). */
const LETTER_REGIONS = ["BZ", "CA", "CL", "CO", "CR", "GT", "MX", "NI", "PA", "PH", "PR", "SV", "US", "VE"];

/** The sheet of this computer's region; A4 where it names none. */
function usualPaper(): Paper {
  const { region } = new Intl.Locale(new Intl.DateTimeFormat().resolvedOptions().locale);
  return region !== undefined && LETTER_REGIONS.includes(region) ? "letter" : "A4";
}

const SHEETS: Readonly<Record<Paper, Markup>> = {
  A4: html`<style>@page { size: A4; margin: 12mm; }</style>`,
  letter: html`<style>@page { size: letter; margin: 12mm; }</style>`,
};
const onSheet = (page: string, paper: Paper) => page.replace("</head>", `${SHEETS[paper]}</head>`);

class PrintError extends Error {
  readonly code = "print";
}

/** Path or command of a Chromium that is not found automatically. */
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

/** The browser for printing; null where none is installed. */
function findChromium(environment: NodeJS.ProcessEnv): string | null {
  const chosen = environment[CHOICE];
  if (chosen !== undefined && chosen !== "") return runs(chosen) ? chosen : null;
  const folders = (environment.PATH ?? "").split(delimiter).filter((folder) => folder !== "");
  return [...COMMANDS.flatMap((command) => folders.map((folder) => join(folder, command))), ...PLACES].find(runs) ?? null;
}

/** Chromium has no sandbox for root; everyone else keeps it. */
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

/** `signal` aborted: the browser is ended, and the call rejects with the reason. */
export async function printReport(
  html: string,
  format: PrintFormat,
  signal: AbortSignal = NEVER,
  environment: NodeJS.ProcessEnv = process.env,
  paper: Paper = usualPaper(),
): Promise<Uint8Array> {
  const executable = findChromium(environment);
  const remedy = `install Chromium (Debian: apt install chromium), name one in ${CHOICE}, or save the report as .html and print it from any browser`;
  if (executable === null) throw new PrintError(`Report as ${format.toUpperCase()}: no Chromium found to print with; ${remedy}`);
  const folder = mkdtempSync(join(tmpdir(), "gripbook-print-"));
  try {
    const [page, out] = [join(folder, "report.mhtml"), join(folder, `report.${format}`)];
    const summary = summaryPage(html);
    writeFileSync(page, pageArchive(format === "png" ? summary.html : onSheet(html, paper)));
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
    // For requests that the browser makes by itself: no names, and a proxy on a port where nobody listens (port 9, "discard").
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
    // Chromium's last helper processes may still write into the profile.
    rmSync(folder, { recursive: true, force: true, maxRetries: 10, retryDelay: 100 });
  }
}
