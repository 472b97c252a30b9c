/**
 * The saved report in a real Chromium, from its file: its own policy (CSP level 3, in a meta element) holds against whatever an error in
 * making it might let in.
 */
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { createServer } from "node:http";
import type { AddressInfo } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { describe, expect, test } from "vitest";
import { reportHtml } from "../../src/shared/report/report-html.ts";
import { reportDay } from "../shared/report/report-day.fixture.ts";
import { browserPath, openBrowser } from "./support/browser.ts";

describe.skipIf(browserPath === null)("the saved report", () => {
  test("names its policy before anything that could load, and loads, runs and sends nothing even with foreign markup in it", async () => {
    const html = reportHtml(reportDay());
    expect(html).toMatch(
      /^<!doctype html>\s*<html lang="en"><head><meta charset="utf-8"><meta http-equiv="Content-Security-Policy" content="default-src 'none';/i,
    );
    const asked: (string | undefined)[] = [];
    const server = createServer((request, response) => {
      asked.push(request.url);
      response.end("elsewhere");
    });
    await new Promise<void>((resolve) => server.listen(0, "127.0.0.1", resolve));
    const folder = mkdtempSync(join(tmpdir(), "gripbook-saved-"));
    const browser = await openBrowser();
    try {
      const there = `http://127.0.0.1:${(server.address() as AddressInfo).port}`;
      const foreign = `<script>document.title = "a script ran"</script><img src="${there}/image" onerror="document.title = 'a handler ran'"><link rel="stylesheet" href="${there}/style">
        <style>@import url(${there}/import); body { background: url(${there}/background) }</style><iframe src="${there}/frame"></iframe><iframe src="file:///etc/passwd"></iframe>
        <object data="${there}/object"></object><video src="${there}/video" autoplay></video><base href="${there}/"><svg><image href="${there}/svg"/><use href="${there}/use#a"/></svg>
        <form action="${there}/form"><button id="send">send</button></form>`;
      const file = join(folder, "report.html");
      writeFileSync(file, html.replace("</main>", `${foreign}</main>`));
      const page = await browser.newPage();
      await page.goto(pathToFileURL(file).href, { waitUntil: "load" });
      await page.locator("#send").click({ noWaitAfter: true });
      // Whatever was to be fetched was asked for before the next drawn frame but one.
      await page.screenshot();
      expect(await page.locator("head > title").textContent()).toMatch(/Gripbook report$/);
      expect(page.url()).toBe(pathToFileURL(file).href);
      const frames = await Promise.all(
        page
          .frames()
          .slice(1)
          .map((frame) => frame.content()),
      );
      expect(frames.filter((content) => /root:|elsewhere/.test(content))).toEqual([]);
      expect(asked).toEqual([]);
    } finally {
      await browser.close();
      server.closeAllConnections();
      await new Promise((resolve) => server.close(resolve));
      rmSync(folder, { recursive: true, force: true });
    }
  });
});
