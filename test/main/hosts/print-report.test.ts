/**
 * A print whose client has gone: the browser is ended at once, its folder is removed, and nothing is returned. A stand-in that never ends
 * plays the browser. And a hostile page in a real Chromium, its PDF read by pdftotext (poppler): nothing loads, nothing leads away.
 */
import { spawnSync } from "node:child_process";
import { chmodSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { createServer } from "node:http";
import type { AddressInfo } from "node:net";
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
    for (let i = 0; i < 12_000 && !existsSync(note); i += 1) await new Promise((resolve) => setTimeout(resolve, 10));
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

const PDFTOTEXT = "pdftotext";
const hasPdftotext = spawnSync(PDFTOTEXT, ["-v"]).status !== null;
const hostile = (port: number, away: string) => `<!doctype html><html><head><meta charset="utf-8"><title>hostile</title>
<meta http-equiv="refresh" content="0;url=${away}"><link rel="stylesheet" href="http://127.0.0.1:${port}/style"><style>@import url(http://127.0.0.1:${port}/import);</style></head>
<body><h1>The real report, prüfend</h1><section id="summary"></section><img src="http://127.0.0.1:${port}/image"><iframe src="http://127.0.0.1:${port}/frame"></iframe>
<iframe src="file:///etc/passwd" width="600" height="300"></iframe><object data="file:///etc/passwd" width="600" height="300"></object>
<script>document.body.append("a script ran"); fetch("http://127.0.0.1:${port}/fetch")</script></body></html>`;

test.each(["the network", "a file of this machine"])(
  "printReport() prints the page that was given, whatever it wants to load, where it leads to %s",
  async (where) => {
    const asked: (string | undefined)[] = [];
    const server = createServer((request, response) => {
      asked.push(request.url);
      response.end("elsewhere");
    });
    await new Promise<void>((resolve) => server.listen(0, "127.0.0.1", resolve));
    const folder = mkdtempSync(join(tmpdir(), "gripbook-hostile-"));
    try {
      const { port } = server.address() as AddressInfo;
      const html = hostile(port, where === "the network" ? `http://127.0.0.1:${port}/away` : "file:///etc/passwd");
      const pdf = await printReport(html, "pdf").catch((error: Error) => {
        if (error.message.includes("no Chromium found")) return null;
        throw error;
      });
      if (pdf === null || !hasPdftotext) return console.warn("SKIPPED: a hostile page: no Chromium or no pdftotext");
      const file = join(folder, "report.pdf");
      writeFileSync(file, pdf);
      const text = spawnSync(PDFTOTEXT, [file, "-"], { encoding: "utf8" }).stdout;
      expect(text).toContain("The real report, prüfend");
      expect(text).not.toMatch(/root:|a script ran|elsewhere/);
      const png = await printReport(html, "png");
      // PNG, section 5.2: the first eight bytes.
      expect([...png.slice(0, 8)]).toEqual([137, 80, 78, 71, 13, 10, 26, 10]);
      expect(asked).toEqual([]);
    } finally {
      server.closeAllConnections();
      await new Promise((resolve) => server.close(resolve));
      rmSync(folder, { recursive: true, force: true });
    }
  },
);
