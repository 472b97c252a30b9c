/**
 * What stopped a passenger who had never seen the program, in Chromium: a question left open when the car launches, a reason left out, words that
 * name another switch, notices that push the abort off the screen, and a view without keys. Sizes after LOOK: 76 px by glove, cap height 13 mm in the hero.
 */
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { browserPath, openBrowser } from "./support/browser.ts";
import { startVisit, type Visit } from "./support/visit.ts";

const go = (page: Page, name: string) =>
  page.evaluate((hash) => {
    window.location.hash = hash;
  }, name);
const plate = (page: Page, state: string) => page.locator(`.plate[data-state=${state}]`).waitFor({ timeout: 15_000 });

describe.skipIf(browserPath === null)("a passenger's first drive, in Chromium", () => {
  let browser: Browser;
  let visit: Visit;
  beforeAll(async () => {
    browser = await openBrowser();
    visit = await startVisit(browser, "fake");
  });
  afterAll(async () => {
    await visit?.end();
    await browser?.close();
    expect(visit.trouble).toEqual([]);
  });

  test("a question left open gives way to the launch, and Esc aborts it at once; on another page one Esc closes and aborts", async () => {
    const { page } = visit;
    await go(page, "drive");
    await plate(page, "idle");
    await page.keyboard.press("Space");
    await plate(page, "standing");
    await page.keyboard.press("e");
    await page.locator("dialog[open]").waitFor();
    await page.keyboard.type(" half");
    await plate(page, "launched");
    expect(await page.locator("dialog[open]").count()).toBe(0);
    await page.keyboard.press("Escape");
    await plate(page, "aborted");

    await page.keyboard.press("Space");
    await plate(page, "standing");
    await go(page, "before");
    await page.keyboard.press("F1");
    await page.locator("dialog.keys").waitFor();
    await page.locator("[role=status]", { hasText: /^Launched$/ }).waitFor({ state: "attached" });
    await page.keyboard.press("Escape");
    await page.locator("dialog.keys").waitFor({ state: "detached" });
    await go(page, "drive");
    await plate(page, "aborted");
  });

  test("overruling without a reason asks for it in the same place, and loses no key to the page", async () => {
    const { page } = visit;
    await go(page, "before");
    const battery = page.locator(".check", { hasText: "Laptop battery" });
    await battery.getByRole("button", { name: "Overrule" }).click();
    await page.keyboard.press("Enter");
    const dialog = page.locator("dialog[open]");
    expect(await dialog.getByRole("alert").textContent()).toBe("Write why you drive all the same.");
    await visit.shot("overrule-needs-why");
    await page.keyboard.type("at the tent");
    expect(await page.evaluate(() => [document.body.dataset.page, document.documentElement.dataset.scheme])).toEqual(["before", "day"]);
    await page.keyboard.press("Enter");
    await battery.and(page.locator(".overruled")).waitFor();
    expect(await battery.textContent()).toContain("at the tent");
    await battery.getByRole("button", { name: "Take back" }).click();
    await battery.and(page.locator(".wrong")).waitFor();
    await battery.getByRole("button", { name: "Overrule" }).click();
    await page.keyboard.press("Escape");
    await dialog.waitFor({ state: "detached" });
  });
});
