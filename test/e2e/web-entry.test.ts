/**
 * Entering and returning in a real Chromium: from a file that leads to the host, with another program's port in use, and after the host's
 * death.
 */
import { createServer, type IncomingMessage } from "node:http";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import type { AddressInfo } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { afterAll, beforeAll, describe, expect, test, vi } from "vitest";
import { openSocket } from "../support/web-entry.ts";
import { browserPath, WAIT_MS } from "./support/browser.ts";
import { useVisit } from "./support/visit.ts";

describe.skipIf(browserPath === null)("the way into the web host", () => {
  const suite = useVisit("fake");
  let folder = "";
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), "gripbook-entry-"));
  });
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  test("a page that comes from the opened file gets in, keeps its key out of the address, and a reload and a second tab find it again", async () => {
    const { browser, visit } = suite;
    const file = join(folder, "open.html");
    writeFileSync(file, `<!doctype html><meta http-equiv="refresh" content="0;url=${visit.running.host.link()}">`);
    const context = await browser.newContext();
    const page = await context.newPage();
    await page.goto(pathToFileURL(file).href);
    await page.locator("body[data-page]").waitFor({ state: "attached" });
    expect(page.url()).toBe(`http://127.0.0.1:${visit.running.host.port}/`);
    await page.reload();
    await page.locator(".tile").first().waitFor();
    const second = await context.newPage();
    await second.goto(page.url());
    await second.locator(".tile").first().waitFor();
    await context.close();
  });

  test("another program of this machine gets the cookie and can do nothing with it", async () => {
    const { visit } = suite;
    const seen: IncomingMessage[] = [];
    const thief = createServer((request, response) => {
      seen.push(request);
      response.end("<!doctype html><title>elsewhere</title>");
    });
    await new Promise<void>((resolve) => thief.listen(0, "127.0.0.1", resolve));
    try {
      const page = await visit.page.context().newPage();
      await page.goto(`http://127.0.0.1:${(thief.address() as AddressInfo).port}/`);
      const cookie = seen[0]?.headers.cookie ?? "";
      // RFC 6265, section 8.5: cookies do not provide isolation by port.
      expect(cookie).toContain(`gripbook-${visit.running.host.port}=`);
      expect(await page.evaluate(() => Object.keys(localStorage))).toEqual([]);
      await expect(openSocket(visit.running.host.port, { cookie, key: "" })).rejects.toThrow("403");
      await page.close();
    } finally {
      thief.closeAllConnections();
      await new Promise((resolve) => thief.close(resolve));
    }
  });

  test("after the host's death the page says so, finds it again by itself, and measuring has gone on", async () => {
    const { visit } = suite;
    const { page, running } = visit;
    const url = page.url();
    await running.core.request("drive.label", { label: "kept through it" });
    process.kill(running.host.pid() ?? 0, "SIGKILL");
    const notice = page.getByRole("region", { name: "Notices" }).getByText("It is looked for again");
    await notice.waitFor({ timeout: WAIT_MS });
    await notice.waitFor({ state: "hidden", timeout: WAIT_MS });
    await page.keyboard.press("Control+4");
    await vi.waitFor(async () => expect(await page.locator("main").textContent()).toContain("kept through it"), { timeout: WAIT_MS });
    expect(page.url().split("#")[0]).toBe(url.split("#")[0]);
    // The browser itself notes each refused connection.
    visit.trouble.length = 0;
  });
});
