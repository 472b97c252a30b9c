/**
 * The whole way with the embedded simulated car at real pace, nobody touching a key after arming: the first day of twelve runs, one launch
 * seen live, found in the book, and replayed. Screenshots go to test-output/.
 */
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { browserPath, openBrowser } from "./support/browser.ts";
import { startVisit, type Visit } from "./support/visit.ts";

describe.skipIf(browserPath === null)("the simulated car in Chromium", () => {
  let browser: Browser;
  let visit: Visit;
  beforeAll(async () => {
    browser = await openBrowser();
    visit = await startVisit(browser, "simulated");
  });
  afterAll(async () => {
    await visit?.end();
    await browser?.close();
  });

  test("first start fills the book with a day of twelve runs, six of each setting, every one with its time", async () => {
    const { page } = visit;
    await page.locator(".tile").nth(11).waitFor({ timeout: 110_000 });
    expect(await page.locator(".tile").count()).toBe(12);
    const words = await page.locator(".tile").allTextContents();
    expect(words.filter((tile) => tile.includes("traction control on"))).toHaveLength(6);
    expect(words.filter((tile) => tile.includes("traction control off"))).toHaveLength(6);
    for (const tile of words) expect(tile).toMatch(/Run \d+\d\.\d\d seconds to 60 mph/);
    await page.locator(".gates tr.head").waitFor();
    await page.getByRole("button", { name: "I have read this" }).click();
    await visit.shot("first-day-runs");
  });

  test("a launch is seen live: ready, launched, gates in big digits, stored, armed again by itself", async () => {
    const { page } = visit;
    await page.keyboard.press("Control+2");
    await page.locator(".plate[data-state=idle]").waitFor();
    await page.keyboard.press("Space");
    await page.locator(".plate[data-state=standing]").waitFor({ timeout: 60_000 });
    expect(await page.locator(".hero .text").textContent()).toBe("Ready");
    await visit.shot("live-standing");
    await page.locator(".plate[data-state=launched]").waitFor({ timeout: 60_000 });
    await page.waitForTimeout(1_000);
    await visit.shot("live-launched");
    await page.waitForFunction(() => document.querySelector(".hero p")?.textContent === "60 mph", undefined, { timeout: 30_000 });
    const live = Number(await page.locator(".hero .text").textContent());
    await visit.shot("live-60-mph");
    await page.locator(".plate[data-state=armed]").waitFor({ timeout: 60_000 });
    await page.locator(".foot .next", { hasText: "Run 13 is stored" }).waitFor({ timeout: 30_000 });
    await visit.shot("live-stored");
    const stored = Number(await page.locator(".hero .text").textContent());
    // The live figure was read after it had settled, so both are the same launch through the same smoother.
    expect(Math.abs(stored - live)).toBeLessThan(0.02);
  });

  test("the same launch is replayed in Runs, with its gates and intervals, and plays to its end", async () => {
    const { page } = visit;
    await page.keyboard.press("Escape");
    await page.locator(".plate[data-state=idle]").waitFor();
    await page.keyboard.press("l");
    await page.locator("h1", { hasText: /^Run 13, traction control/ }).waitFor();
    const row = page.locator(".gates tr.head");
    await row.waitFor();
    expect(await row.textContent()).toMatch(/\d\.\d{3}\u00b1\u00a00\.\d{3}/);
    await page.keyboard.press("4");
    await page.keyboard.press("Home");
    await page.keyboard.press("Space");
    await page.waitForFunction(() => Number(document.querySelector(".scrubber")?.getAttribute("aria-valuenow")) > 1.5);
    await visit.shot("replay-run-13");
    await page.waitForFunction(() => document.querySelector(".player button span")?.textContent === "Play", undefined, { timeout: 30_000 });
    // The shelf pages by day: today's one launch, and the simulated day before it.
    expect(await page.locator(".tile").count()).toBe(1);
    await page.keyboard.press("PageUp");
    await page.locator("h1", { hasText: /^Run 1,/ }).waitFor();
    expect(await page.locator(".tile").count()).toBe(12);
    expect(visit.trouble).toEqual([]);
  });
});
