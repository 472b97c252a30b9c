/** Keys are changed, kept, refused in words and reset by keyboard alone (WCAG 2.2, 2.1.4); what the screens print follows, and Esc stays what it is. */
import type { Browser, Page } from "playwright-core";
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, test } from "vitest";
import { axeFindings } from "./support/axe.ts";
import { browserPath, openBrowser, WAIT_MS } from "./support/browser.ts";
import { startVisit, type Visit } from "./support/visit.ts";

const playing = (page: Page) => page.locator(".player button", { hasText: "Pause" });
const stopped = (page: Page) => page.locator(".player button", { hasText: "Play" });
const said = (page: Page, words: RegExp) => page.locator("dialog.keys [role=status]", { hasText: words }).waitFor();
const give = async (page: Page, meaning: string, key: string) => {
  await page.getByRole("button", { name: `: ${meaning}. Change this key` }).press("Enter");
  await page.keyboard.press(key);
};

describe.skipIf(browserPath === null)("keys in Chromium", () => {
  let browser: Browser;
  let visit: Visit;
  beforeAll(async () => {
    browser = await openBrowser();
  });
  afterAll(() => browser?.close());
  beforeEach(async () => {
    visit = await startVisit(browser, "fake");
    await visit.page.locator(".tile").first().waitFor();
  });
  afterEach(async () => {
    await visit.end();
    expect(visit.trouble).toEqual([]);
  });

  test("a key is changed, clashes are named, what is printed follows, it is kept over a new visit, and all are reset", async () => {
    const { page } = visit;
    await page.keyboard.press("F1");
    await page.locator("dialog.keys").waitFor();
    await give(page, "play, pause", "g");
    await said(page, /^G is taken on Runs: next gate\. Give that another key first/);
    await visit.shot("keys-clash");
    await page.keyboard.press("t");
    await said(page, /^T is taken everywhere: night, day, sun/);
    // Esc leaves the key and not the dialog.
    await page.keyboard.press("Escape");
    await said(page, /Esc always aborts, cancels and closes/);
    await give(page, "play, pause", "p");
    await said(page, /^play, pause: now P$/);
    expect(await axeFindings(page, undefined, "dialog")).toEqual([]);
    await page.keyboard.press("Escape");
    await page.locator("dialog.keys").waitFor({ state: "detached" });
    expect(await stopped(page).locator("kbd").textContent()).toBe("P");
    // Focus may lie on the dialog's old button: the page itself hears the key.
    await page.locator("h1:visible").first().click();
    await page.keyboard.press("Space");
    expect(await playing(page).count()).toBe(0);
    await page.keyboard.press("p");
    await playing(page).waitFor();
    await page.keyboard.press("p");
    await page.reload();
    await page.locator(".tile").first().waitFor();
    expect(await stopped(page).locator("kbd").textContent()).toBe("P");
    await page.keyboard.press("F1");
    await page.getByRole("button", { name: "Reset all keys" }).press("Enter");
    await said(page, /All keys are reset/);
    await page.keyboard.press("Escape");
    expect(await stopped(page).locator("kbd").textContent()).toBe("Space");
  });

  test("turned off, single keys do nothing and are printed nowhere; Esc still ends a launch", async () => {
    const { page } = visit;
    await page.keyboard.press("F1");
    await page.getByLabel("Single keys act (Esc always does)").press("Space");
    await page.keyboard.press("Escape");
    await page.locator("h1:visible").first().click();
    expect(await page.locator("kbd[data-action]:visible").allTextContents()).toEqual([]);
    const scheme = () => page.evaluate(() => document.documentElement.dataset.scheme);
    const before = await scheme();
    await page.keyboard.press("t");
    expect(await scheme()).toBe(before);
    await page.keyboard.press("Control+4");
    await page.getByRole("button", { name: /^Arm/ }).click();
    await page.locator(".plate[data-state=launched]").waitFor({ timeout: WAIT_MS });
    await page.keyboard.press("Escape");
    await page.locator(".plate[data-state=aborted]").waitFor();
  });

  test("the dialog holds on a phone and in every scheme, and its button opens it without a key", async () => {
    const { page } = visit;
    for (const [width, height] of [
      [1280, 720],
      [390, 844],
    ] as const) {
      await page.setViewportSize({ width, height });
      for (const scheme of ["day", "night", "sun"]) {
        await page.evaluate((wanted) => {
          document.documentElement.dataset.scheme = wanted;
        }, scheme);
        await page.getByRole("button", { name: /Keys and settings/ }).click();
        await page.locator("dialog.keys").waitFor();
        await visit.shot(`keys-${scheme}-${width}`);
        expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(width);
        await page.keyboard.press("Escape");
      }
    }
  });
});
