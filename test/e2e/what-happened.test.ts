/** What happened, saved from F1 in a real browser: without positions unless they are ticked. The outside reference is the position that the book was given. */
import { readFileSync } from "node:fs";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { recordBook } from "../support/recorded-book.ts";
import { axeFindings } from "./support/axe.ts";
import { browserPath, openBrowser } from "./support/browser.ts";
import { startVisit } from "./support/visit.ts";

async function saved(page: Page): Promise<string> {
  const [download] = await Promise.all([
    page.waitForEvent("download"),
    page.getByRole("button", { name: "Save what happened" }).press("Enter"),
  ]);
  expect(download.suggestedFilename()).toBe("what-happened.txt");
  return readFileSync(await download.path(), "utf8");
}

describe.skipIf(browserPath === null)("what happened, in Chromium", () => {
  let browser: Browser;
  beforeAll(async () => {
    browser = await openBrowser();
  });
  afterAll(() => browser?.close());

  test("F1 saves it by keyboard, with where the car was only when that is ticked", async () => {
    const visit = await startVisit(browser, "own", {}, recordBook);
    try {
      const { page } = visit;
      await page.keyboard.press("F1");
      const dialog = page.locator("dialog.keys");
      await dialog.waitFor();
      expect(await axeFindings(page, undefined, "dialog")).toEqual([]);
      const without = await saved(page);
      expect(without).toMatch(/^Gripbook \d/);
      expect(without).toContain("Hole, can: 3.0 to 5.0 s: the adapter was pulled out");
      expect(without).toContain("The log, oldest first:");
      // A line of the log may have been written 20.07 s after the minute.
      expect(without.replaceAll(/T\d\d:\d\d:\d\d\.\d{3}Z/g, "")).not.toMatch(/30\.02|3001\.2|20\.07/);
      await dialog.locator("[role=status]", { hasText: /^Saved, without positions\. Read it before you hand it over\.$/ }).waitFor();
      await page.getByLabel("With positions").press("Space");
      // 30 degrees and 1.23456 minutes: 30 + 1.23456 / 60.
      expect(await saved(page)).toContain(`from ${(-30 - 1.23456 / 60).toFixed(6)}, ${(-20 - 4.56789 / 60).toFixed(6)}`);
      await visit.shot("what-happened");
      expect(visit.trouble).toEqual([]);
    } finally {
      await visit.end();
    }
  });
});
