/** Printing that nobody waits for any more: the browser is ended at once, its folder is gone, and nothing is given. A stand-in that never ends plays the browser. */
import { chmodSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { expect, test } from "vitest";
import { printReport } from "../../../src/main/hosts/print-report.ts";
import { summaryPage } from "../../../src/main/hosts/summary-page.ts";

const isAlive = (pid: number) => {
  try {
    process.kill(pid, 0);
    return true;
  } catch {
    return false;
  }
};

test.skipIf(process.platform === "win32")("printReport() ends the browser when it is cancelled", async () => {
  const folder = mkdtempSync(join(tmpdir(), "gripbook-endless-"));
  try {
    const browser = join(folder, "browser");
    const note = join(folder, "pid");
    writeFileSync(browser, `#!/bin/sh\necho $$ > ${note}.part && mv ${note}.part ${note}\nexec sleep 600\n`);
    chmodSync(browser, 0o755);
    const controller = new AbortController();
    const printing = printReport("<p>", "pdf", controller.signal, { ...process.env, GRIPBOOK_CHROMIUM: browser });
    printing.catch(() => undefined);
    for (let i = 0; i < 200 && !existsSync(note); i += 1) await new Promise((resolve) => setTimeout(resolve, 10));
    const pid = Number(readFileSync(note, "utf8"));
    expect(isAlive(pid)).toBe(true);
    controller.abort(new RangeError("Printing was cancelled"));
    await expect(printing).rejects.toThrow("Printing was cancelled");
    expect(isAlive(pid)).toBe(false);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
});

test("summaryPage() grows with long warnings and crowded strips, and with nothing else of the page", () => {
  const page = (warnings: number, strip: number) =>
    `<main><section id="summary"><ul>${"<li>Flagged and in use: run 1 (wheelspin, pedal), run 3 (wheelspin, pedal), run 4 (wheelspin, pedal), run 6 (pedal).</li>".repeat(warnings)}</ul>` +
    `<svg viewBox="0 0 900 ${strip}"></svg><svg viewBox="0 0 900 240"></svg></section><ul>${"<li>else</li>".repeat(50)}</ul></main>`;
  const summaryHeight = (html: string) => summaryPage(html).height;
  expect(summaryHeight(page(3, 250))).toBe(summaryHeight(page(0, 250)));
  // Two lines of some 27 px each.
  expect(summaryHeight(page(12, 250)) - summaryHeight(page(11, 250))).toBe(54);
  expect(summaryHeight(page(0, 350)) - summaryHeight(page(0, 250))).toBeGreaterThanOrEqual(100);
});
