/** A real Chromium for the specs: an installed one, else the one that a dev dependency carries. None gives null, and the specs say so aloud. */
import { existsSync } from "node:fs";
import { type Browser, chromium } from "playwright-core";

const INSTALLED = [
  // The same engine without the window around it, for two thirds of the work.
  "/usr/bin/chromium-headless-shell",
  "/usr/bin/chromium",
  "/usr/bin/chromium-browser",
  "/usr/bin/google-chrome",
  "/opt/google/chrome/chrome",
  "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
  "C:\\Program Files\\Google\\Chrome\\Application\\chrome.exe",
];
const FLAGS = [
  "--no-sandbox",
  // Letters as wide as on a screen: the headless shell rounds them else.
  "--font-render-hinting=none",
  "--disable-gpu",
  "--disable-quic",
  "--no-first-run",
  "--disable-background-networking",
  "--disable-component-update",
  "--disable-sync",
];

/** A limit against hanging, for everything a page is waited for: a busy machine is no fault of the page. */
export const WAIT_MS = 120_000;

/** The same for a report: it waits for the fit of the car, which gives way to everything else on the machine. */
export const PAPER_WAIT_MS = 480_000;

async function executable(): Promise<string | null> {
  const installed = INSTALLED.find((path) => existsSync(path));
  if (installed !== undefined) return installed;
  try {
    const { default: carried } = await import("@sparticuz/chromium");
    return await carried.executablePath();
  } catch (error) {
    console.warn(
      `no browser: none is installed, and the carried one cannot be unpacked (${error instanceof Error ? error.message : error})`,
    );
    return null;
  }
}

export const browserPath = await executable();
if (browserPath === null) console.warn("SKIPPED: browser specs need Chromium");

export function openBrowser(): Promise<Browser> {
  return chromium.launch({ executablePath: browserPath ?? "", args: FLAGS });
}
