/**
 * Prints a report page with Electron's own Chromium, in a hidden window with its own session: no script, no network, no permission, and no
 * way to another page. A page that does not load rejects with its reason.
 */
import { BrowserWindow, session } from "electron";
import type { PrintFormat } from "../print-report.ts";
import { summaryPage } from "../summary-page.ts";
import { keepAtHome, PAGE_PREFERENCES, refuseNetwork, refusePermissions } from "./window-policy.ts";

/** Without "persist:", so that nothing of it is stored. */
const PARTITION = "gripbook-print";

export async function printInWindow(html: string, format: PrintFormat, signal: AbortSignal): Promise<Uint8Array> {
  const summary = summaryPage(html);
  const alone = session.fromPartition(PARTITION);
  refuseNetwork(alone);
  refusePermissions(alone);
  const window = new BrowserWindow({
    width: summary.width,
    height: summary.height,
    show: false,
    useContentSize: true,
    webPreferences: { ...PAGE_PREFERENCES, session: alone, javascript: false, offscreen: format === "png" },
  });
  keepAtHome(window.webContents, () => false);
  // Destroying the window rejects what waits for it.
  const end = () => window.destroy();
  signal.addEventListener("abort", end);
  try {
    await window.loadURL(`data:text/html;charset=utf-8;base64,${Buffer.from(format === "png" ? summary.html : html).toString("base64")}`);
    if (format === "pdf") return await window.webContents.printToPDF({ printBackground: true, preferCSSPageSize: true });
    return (await window.webContents.capturePage()).toPNG();
  } finally {
    signal.removeEventListener("abort", end);
    if (!window.isDestroyed()) window.destroy();
  }
}
