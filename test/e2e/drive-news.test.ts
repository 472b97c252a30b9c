/**
 * Whose time is the passenger's large figure: only that of the launch just driven, whatever else is stored meanwhile. The test holds the
 * socket, so it decides the order.
 */
import type { Page, WebSocketRoute } from "playwright-core";
import { describe, expect, test } from "vitest";
import { browserPath, WAIT_MS } from "./support/browser.ts";
import { useVisit } from "./support/visit.ts";

const plate = (page: Page, state: string) => page.locator(`.plate[data-state=${state}]`).waitFor({ timeout: WAIT_MS });
const hero = (page: Page) => page.locator(".hero .text");

describe.skipIf(browserPath === null)("the time in the passenger's hero, in Chromium", () => {
  const suite = useVisit("fake");

  test("a run of an imported day is no news: neither while armed, nor over the launch driven after it, whose own time comes with its own run", async () => {
    const { page } = suite.visit;
    const held: string[] = [];
    let socket: WebSocketRoute | null = null;
    await page.routeWebSocket(/\/core$/, (route) => {
      socket = route;
      const core = route.connectToServer();
      core.onMessage((message) => {
        if (typeof message === "string" && message.includes('"runStored"')) held.push(message);
        else route.send(message);
      });
    });
    await page.reload();
    await page.locator("body[data-page]").waitFor({ state: "attached" });
    const send = (message: string) => (socket as WebSocketRoute | null)?.send(message);
    await page.evaluate(() => {
      window.location.hash = "drive";
    });
    await plate(page, "idle");
    await page.keyboard.press("Space");
    await plate(page, "armed");
    const run = {
      id: 99,
      uid: "imported",
      final: true,
      label: "traction control on",
      startedAt: "2031-05-03T10:00:00.000Z",
      courseDeg: 74,
      seconds: 3.21,
      plusMinus95: 0.012,
      flags: [],
      use: true,
      note: "",
      print: { slipKmh: [], heldNm: [], intervening: [] },
    };
    send(JSON.stringify({ event: { event: "runStored", run } }));
    // Twice as long as numbers may wait for their next change.
    await page.waitForTimeout(500);
    expect(await hero(page).textContent()).not.toBe("3.21");
    await plate(page, "launched");
    await plate(page, "done");
    await page.waitForTimeout(500);
    expect(held).toHaveLength(1);
    expect(await hero(page).textContent()).toBe("Done");
    send(held[0] ?? "");
    const own = (JSON.parse(held[0] ?? "") as { event: { run: { seconds: number } } }).event.run.seconds.toFixed(2);
    await hero(page)
      .filter({ hasText: new RegExp(`^${own.replace(".", "\\.")}$`) })
      .waitFor({ timeout: WAIT_MS });
    // Announced and stored alike: nothing is to be corrected, until the closing recording times the launch anew.
    expect(await page.locator("[role=status]", { hasText: /, not \d/ }).count()).toBe(0);
    const stored = JSON.parse(held[0] ?? "") as { event: { run: { seconds: number } } };
    stored.event.run.seconds = 4.66;
    send(JSON.stringify(stored));
    const words = `0\u201360 mph is 4.66 s, not ${own}`;
    await page.locator("[role=status]", { hasText: words }).waitFor({ state: "attached", timeout: WAIT_MS });
    await page.locator(".drive", { hasText: words }).waitFor({ timeout: WAIT_MS });
    await hero(page)
      .filter({ hasText: /^4\.66$/ })
      .waitFor({ timeout: WAIT_MS });
    await suite.visit.shot("drive-corrected");
  });
});
