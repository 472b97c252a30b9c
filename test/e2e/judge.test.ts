/**
 * Compare, Plan and Report in real Chromium over the real measuring process and a real book: axe-core (WCAG 2.2 A and AA), every key,
 * the refusal with its sum (docs/design.md, safety), and a report from which no request leaves.
 */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import AxeBuilder from "@axe-core/playwright";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { addPlannedDay } from "../support/planned-day.ts";
import { browserPath, openBrowser, WAIT_MS } from "./support/browser.ts";
import { startVisit, type Visit } from "./support/visit.ts";

const PAGES = ["compare", "plan", "report"] as const;

const go = async (page: Page, name: string) => {
  await page.evaluate((hash) => {
    window.location.hash = hash;
  }, name);
  await page.locator(`body[data-page="${name}"]`).waitFor({ state: "attached" });
};
const sentence = (page: Page, name: string, words: RegExp) =>
  page.locator(`.page.${name} h1`, { hasText: words }).waitFor({ timeout: WAIT_MS });

/** What a page shows last. */
const SETTLED: Readonly<Record<(typeof PAGES)[number], (page: Page) => Promise<unknown>>> = {
  compare: (page) => sentence(page, "compare", /quicker/),
  plan: (page) => page.locator(".choice", { hasText: "suggested" }).waitFor(),
  report: (page) => page.frameLocator("iframe.report-preview").locator("h1").waitFor(),
};

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

  test("axe-core finds nothing on the three pages in any scheme, and nothing runs out of the side", () =>
    visiting(12, async ({ page, shot }) => {
      for (const scheme of ["day", "night", "sun"]) {
        await page.evaluate((wanted) => {
          while (document.documentElement.dataset.scheme !== wanted)
            document.dispatchEvent(new KeyboardEvent("keydown", { key: "t", bubbles: true }));
        }, scheme);
        for (const name of PAGES) {
          await go(page, name);
          await SETTLED[name](page);
          await shot(`judge-${name}-${scheme}`);
          const { violations } = await new AxeBuilder({ page })
            .exclude("iframe")
            .withTags(["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"])
            .analyze();
          expect(violations.map((violation) => `${name} ${violation.id}: ${violation.nodes.map((node) => node.html).join(" ")}`)).toEqual(
            [],
          );
        }
      }
      for (const [width, height] of [
        [1920, 1080],
        [390, 844],
      ] as const) {
        await page.setViewportSize({ width, height });
        for (const name of PAGES) {
          await go(page, name);
          await SETTLED[name](page);
          await shot(`judge-${name}-${width}`);
          expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(width);
        }
      }
    }));

  test("Compare says the planned verdict; a run is set aside with a note, all runs in stand beside, and it is taken back, by keyboard alone", () =>
    visiting(12, async ({ page, shot }) => {
      await go(page, "compare");
      await sentence(page, "compare", /^Traction control on is 0\.63 s quicker than off, 0–60 mph\.$/);
      expect(await page.locator(".page.compare .lead").first().textContent()).toMatch(
        /0\.54 to 0\.89 s \(96 %\)\. If the setting did nothing, .* in 2 of the 380 orders that this plan could have drawn\.$/,
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
      expect(await page.locator(".page.compare > p.small").textContent()).toMatch(/^With all runs in: 0\.63 s quicker/);
      await page.screenshot({ path: "test-output/judge-compare-aside.png", fullPage: true });
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

  test("Plan leads on, refuses what is too short with the sum, draws, is used and undone, by keyboard", () =>
    visiting(4, async ({ page, shot }) => {
      await go(page, "plan");
      await sentence(page, "plan", /^Next: traction control (on|off), eastbound\.$/);
      await page.locator(".choice", { hasText: "suggested" }).waitFor();
      expect(await page.locator(".choice", { hasText: "suggested" }).textContent()).toMatch(/There and back, nearly balanced.*2 in 380/);
      await page.screenshot({ path: "test-output/judge-plan-driving.png", fullPage: true });
      const before = await page.locator(".page.plan .lead").first().textContent();
      await page.getByLabel("Usable length, m").fill("180");
      await page.locator("h1:visible").first().click();
      await page.keyboard.press("w");
      await sentence(page, "plan", /refused/);
      await page.locator(".refused", { hasText: /\d+ m needed, 180 m given: 1\.5 x/ }).waitFor();
      await shot("judge-plan-refused");
      await page.getByLabel("Usable length, m").fill("900");
      await page.getByLabel("Runs a group").fill("4");
      await page.locator("h1:visible").first().click();
      await page.keyboard.press("w");
      await sentence(page, "plan", /Drawn by lot, not in use yet/);
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
      expect(await frame.locator("h1").textContent()).toContain("0.63 s quicker");
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
        expect(await alone.locator("h1").textContent()).toContain("0.63 s quicker");
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
