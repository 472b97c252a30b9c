/**
 * Compare, Plan and Report in real Chromium over the real measuring process and a real book: every key, the
 * refusal with its calculation (docs/design.md, safety), and a report from which no request leaves.
 */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { addPlannedDay } from "../support/planned-day.ts";
import { browserPath, openBrowser, WAIT_MS } from "./support/browser.ts";
import { picture } from "./support/pictures.ts";
import { startVisit, type Visit } from "./support/visit.ts";

const go = async (page: Page, name: string) => {
  await page.evaluate((hash) => {
    window.location.hash = hash;
  }, name);
  await page.locator(`body[data-page="${name}"]`).waitFor({ state: "attached" });
};
const sentence = (page: Page, name: string, words: RegExp) =>
  page.locator(`.page.${name} h1`, { hasText: words }).waitFor({ timeout: WAIT_MS });

describe.skipIf(browserPath === null)("compare, plan and report in Chromium", () => {
  let browser: Browser;
  beforeAll(async () => {
    browser = await openBrowser();
  });
  afterAll(() => browser?.close());

  const visiting = async (runs: number, work: (visit: Visit) => Promise<void>) => {
    const visit = await startVisit(browser, "simulated", { acceptDownloads: true }, (file) => addPlannedDay(file, runs));
    try {
      await visit.page.getByRole("button", { name: "I have read this" }).click();
      await work(visit);
      expect(visit.trouble).toEqual([]);
    } finally {
      await visit.end();
    }
  };

  test("Compare says the planned verdict; a run is set aside with a note, all runs in stand beside, and it is used again, by keyboard alone", () =>
    visiting(12, async ({ page, shot }) => {
      await go(page, "compare");
      await sentence(page, "compare", /^Traction control on is 0\.64 s quicker than off, 0–60 mph\.$/);
      expect(await page.locator(".page.compare .lead").first().textContent()).toMatch(
        /0\.56 to 0\.92 s \(96 %\)\. If the setting did nothing, .* in 2 of the 380 orders that this plan could have drawn\.$/,
      );
      for (let i = 0; i < 12; i += 1) {
        await page.keyboard.press("ArrowRight");
        if ((await page.locator(".chosen").textContent())?.includes("5.40")) break;
      }
      expect(await page.locator(".chosen").textContent()).toMatch(/^Run \d+, off, 5\.40.s$/);
      await page.keyboard.press("x");
      await page.keyboard.type("gust of wind");
      await page.keyboard.press("Enter");
      await page.locator(".warnings", { hasText: /Run \d+ was set aside after its time was seen: gust of wind/ }).waitFor();
      expect(await page.locator(".page.compare > p.small:not(.within)").textContent()).toMatch(/^With all runs in: 0\.64 s quicker/);
      await picture(page, "judge-compare-aside", true);
      await page.keyboard.press("b");
      await page.locator("dialog[open]").waitFor();
      await page.keyboard.press("Enter");
      await page.waitForFunction(() => !document.querySelector(".warnings")?.textContent?.includes("gust of wind"));
      await page.keyboard.press("u");
      await page.locator('button[aria-pressed="true"]', { hasText: "As driven" }).waitFor();
      await shot("judge-compare-adjusted");
      await page.keyboard.press("p");
      await page.locator('body[data-page="report"]').waitFor({ state: "attached" });
    }));

  test("Compare says within what it compares, takes chosen runs alone, and hands them on to Report, by keyboard alone", () =>
    visiting(12, async ({ page }) => {
      await go(page, "compare");
      await page.locator(".within", { hasText: "Eastbound and westbound: compared within each." }).waitFor({ timeout: WAIT_MS });
      await page.keyboard.press("o");
      await page.locator("dialog[open] input").fill("direction=east");
      await page.keyboard.press("Enter");
      await page.locator(".within", { hasText: /^Only runs with direction=east/ }).waitFor({ timeout: WAIT_MS });
      await sentence(page, "compare", /three and three never reach 1 in 20/);
      await page.keyboard.press("p");
      await page.locator(".page.report .lead", { hasText: "only runs with direction=east" }).waitFor({ timeout: WAIT_MS });
    }));

  test("Plan leads on, refuses what is too short with the sum, draws, is used and undone, by keyboard", () =>
    visiting(4, async ({ page, shot }) => {
      await go(page, "plan");
      await sentence(page, "plan", /^Next: traction control (on|off), eastbound\.$/);
      await page.locator(".choice", { hasText: "suggested" }).waitFor();
      expect(await page.locator(".choice", { hasText: "suggested" }).textContent()).toMatch(
        /There and back, nearly drift-balanced.*2 in 380/,
      );
      await picture(page, "judge-plan-driving", true);
      const before = await page.locator(".page.plan .lead").first().textContent();
      await page.getByLabel("Usable length, m").fill("180");
      await page.locator("h1:visible").first().click();
      await page.keyboard.press("w");
      await sentence(page, "plan", /refused/);
      await page.locator(".refused", { hasText: /\d+ m needed, 180 m given: 1\.5 ×/ }).waitFor();
      await shot("judge-plan-refused");
      await page.getByLabel("Usable length, m").fill("900");
      await page.getByLabel("Runs a group").fill("4");
      await page.locator("h1:visible").first().click();
      await page.keyboard.press("w");
      await sentence(page, "plan", /Drawn at random, not in use yet/);
      await page.keyboard.press("Enter");
      await sentence(page, "plan", /^Next: traction control (on|off), eastbound\.$/);
      expect(await page.locator(".page.plan .lead").first().textContent()).toMatch(/^4 runs a group/);
      await page.keyboard.press("Control+z");
      await page.waitForFunction((words) => document.querySelector(".page.plan .lead")?.textContent === words, before);
      // The passenger is told what the plan drew.
      await go(page, "drive");
      await page.locator(".drive", { hasText: /eastbound/ }).waitFor({ timeout: WAIT_MS });
      await shot("judge-drive-planned");
    }));

  test("Report previews the page that is saved, and no request leaves it", () =>
    visiting(12, async ({ page, shot }) => {
      await go(page, "report");
      const frame = page.frameLocator("iframe.report-preview");
      await frame.locator("h1").waitFor();
      expect(await frame.locator("h1").textContent()).toContain("0.64 s quicker");
      await shot("judge-report");
      const [download] = await Promise.all([page.waitForEvent("download"), page.keyboard.press("s")]);
      expect(download.suggestedFilename()).toBe("odrel-4-may-2031.html");
      const html = readFileSync(await download.path(), "utf8");
      const folder = mkdtempSync(join(tmpdir(), "gripbook-report-"));
      const context = await browser.newContext();
      try {
        const file = join(folder, "day.html");
        writeFileSync(file, html);
        const alone = await context.newPage();
        const asked: string[] = [];
        await alone.route("**", (route) => {
          asked.push(route.request().url());
          return route.continue();
        });
        await alone.goto(pathToFileURL(file).href, { waitUntil: "networkidle" });
        expect(asked).toEqual([pathToFileURL(file).href]);
        expect(await alone.locator("h1").textContent()).toContain("0.64 s quicker");
      } finally {
        await context.close();
        rmSync(folder, { recursive: true, force: true });
      }
    }));

  test("the report is printed by the host as PDF", () =>
    visiting(12, async ({ page }) => {
      await go(page, "report");
      // Printing takes seconds: it says so, and Esc ends it.
      await page.keyboard.press("d");
      await page.locator(".page.report .work", { hasText: "Printing the page as PDF" }).waitFor();
      await page.keyboard.press("Escape");
      await sentence(page, "report", /^Cancelled; nothing was saved\.$/);
      expect(await page.locator(".page.report .work").isVisible()).toBe(false);
      const [download] = await Promise.all([page.waitForEvent("download", { timeout: WAIT_MS }), page.keyboard.press("d")]);
      expect(
        readFileSync(await download.path())
          .subarray(0, 5)
          .toString(),
      ).toBe("%PDF-");
    }));
});
