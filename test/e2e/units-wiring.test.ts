/** mph and ft on the pages that show what a car sends, in Chromium, over the built-in car (docs/look.md, "Units"). */
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { addTimedRuns, WORKED_EXAMPLE } from "../support/timed-book.ts";
import { browserPath, openBrowser } from "./support/browser.ts";
import { inOtherUnits, shownWords } from "./support/shown-words.ts";
import { startVisit, type Visit } from "./support/visit.ts";

describe.skipIf(browserPath === null)("mph and ft over a car that drives, in Chromium", () => {
  let browser: Browser;
  let visit: Visit;
  beforeAll(async () => {
    browser = await openBrowser();
    visit = await startVisit(browser, "fast", {}, (file) => addTimedRuns(file, WORKED_EXAMPLE));
    await visit.page.evaluate(() => localStorage.setItem("gripbook", JSON.stringify({ units: "mph", cautionsRead: true })));
    await visit.page.reload();
    await visit.page.locator("body[data-page]").waitFor({ state: "attached" });
  });
  afterAll(async () => {
    await visit?.end();
    await browser?.close();
    expect(visit?.trouble).toEqual([]);
  });

  test("nothing is in km/h or m on Wiring, Before driving and Car but signals in the unit of their file, and the car's measures", async () => {
    const { page } = visit;
    const found: string[] = [];
    for (const name of ["wiring", "before", "car"]) {
      await page.evaluate((hash) => {
        window.location.hash = hash;
      }, name);
      await page.locator(`body[data-page="${name}"]`).waitFor({ state: "attached" });
      if (name === "wiring") await page.locator("tr", { hasText: "Ground speed" }).locator(".value", { hasText: /mph/ }).waitFor();
      else await page.locator(`.page.${name} h1`).waitFor();
      for (const text of inOtherUnits(await page.evaluate(shownWords))) found.push(`${name}: ${text}`);
    }
    expect(found).toEqual([]);
  });
});
