/** A run's flags in Chromium, over a real book: overruled with a note, withdrawn, undone; a controller's file kept with a run by its SHA-256. */
import { createHash } from "node:crypto";
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { addTimedRuns } from "../support/timed-book.ts";
import { browserPath, openBrowser } from "./support/browser.ts";
import { startVisit, type Visit } from "./support/visit.ts";

const PARAMETERS = "slip_target 6\n";

describe.skipIf(browserPath === null)("what people say of a run", () => {
  let browser: Browser;
  let visit: Visit;
  beforeAll(async () => {
    browser = await openBrowser();
    visit = await startVisit(browser, "simulated", {}, (book) => {
      addTimedRuns(book, [
        { label: "off", seconds: 5, courseDeg: 74 },
        { label: "off", seconds: 5.1, courseDeg: 254 },
        { label: "off", seconds: 5.2, courseDeg: 74 },
      ]);
    });
    await visit.page.evaluate(() => {
      window.location.hash = "runs";
    });
    await visit.page.locator(".tile").nth(2).click();
  });
  afterAll(async () => {
    await visit?.end();
    await browser?.close();
    expect(visit.trouble).toEqual([]);
  });

  test("a flag says why, is overruled with a note, undone, and withdrawn", async () => {
    const { page } = visit;
    const flag = page.locator(".run-aside .flag");
    await flag.waitFor();
    expect(await flag.textContent()).toMatch(
      /no return run: Driven towards the east \(74°\), with no further run of its group the other way/,
    );
    const overrule = async () => {
      await flag.getByRole("button", { name: "Overrule" }).click();
      await page.locator("dialog input").fill("level strip, no wind");
      await page.locator("dialog button", { hasText: "Overrule" }).click();
      await page.locator(".run-aside .flag.overruled").waitFor();
    };
    await overrule();
    expect(await flag.textContent()).toContain("Overruled: level strip, no wind");
    await visit.shot("overruled");
    await page.keyboard.press("Control+z");
    await page.locator(".run-aside .flag:not(.overruled)").waitFor();
    await overrule();
    await flag.getByRole("button", { name: "Withdraw" }).click();
    await page.locator(".run-aside .flag:not(.overruled)").waitFor();
  });

  test("a file of the controller is kept with the run under its hash", async () => {
    const { page } = visit;
    await page.getByRole("button", { name: /^Conditions/ }).click();
    await page
      .locator("dialog input[type=file]")
      .setInputFiles({ name: "limits.par", mimeType: "text/plain", buffer: Buffer.from(PARAMETERS) });
    await page.locator("dialog button", { hasText: "Keep" }).click();
    const sha256 = createHash("sha256").update(PARAMETERS).digest("hex");
    await page.locator(".run-aside li", { hasText: `limits.par sha256:${sha256}` }).waitFor();
  });
});
