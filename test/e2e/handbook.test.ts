/**
 * The handbook from every page in a real Chromium, by keyboard alone: F1 twice opens the page's own chapter, all chapters are read in all sizes without
 * anything cut off, without a finding of axe (WCAG 2.2 AA), and without a request to anywhere; a launch closes it, and Esc aborts.
 */
import type { Page } from "playwright-core";
import { afterEach, describe, expect, test } from "vitest";
import { PAGE_HEADERS } from "../../src/main/hosts/page-headers.ts";
import { axeFindings } from "./support/axe.ts";
import { browserPath, WAIT_MS } from "./support/browser.ts";
import { useVisit } from "./support/visit.ts";

const OF_PAGE = [
  ["car", "Calibrating"],
  ["wiring", "Wiring a receiver and an adapter"],
  ["before", "Cautions"],
  ["drive", "Driving"],
  ["runs", "Runs and the report"],
  ["compare", "Reading a verdict"],
  ["lost", "Tuning"],
  ["plan", "Planning a test"],
  ["report", "Runs and the report"],
] as const;

const shown = (page: Page, title: string) =>
  page.waitForFunction(
    (wanted) => document.querySelector<HTMLSelectElement>("dialog.handbook select")?.selectedOptions[0]?.text === wanted,
    title,
  );
const openBook = async (page: Page) => {
  await page.keyboard.press("F1");
  await page.locator("dialog.keys").waitFor();
  await page.keyboard.press("F1");
  await page.locator("dialog.handbook").waitFor();
};
const close = async (page: Page) => {
  await page.keyboard.press("Escape");
  await page.locator("dialog").waitFor({ state: "detached" });
};

describe.skipIf(browserPath === null)("the handbook in Chromium", () => {
  const suite = useVisit("fake");
  // What one test left open must not fail the next.
  afterEach(async () => {
    await suite.visit.page.evaluate(() => {
      for (const dialog of document.querySelectorAll("dialog")) dialog.close();
    });
    await suite.visit.page.setViewportSize({ width: 1280, height: 720 });
  });

  test("F1 twice opens the chapter of every page, by keyboard alone", async () => {
    const { page } = suite.visit;
    for (const [at, [name, title]] of OF_PAGE.entries()) {
      await page.keyboard.press(`Control+${at + 1}`);
      await page.locator(`body[data-page="${name}"]`).waitFor({ state: "attached" });
      await openBook(page);
      await shown(page, title);
      // The text has the focus: arrows scroll it.
      expect(await page.evaluate(() => document.activeElement?.tagName), name).toBe("ARTICLE");
      await close(page);
    }
    // The stand-in has no paper to show.
    await suite.visit.page.waitForFunction(() => document.querySelector("dialog") === null);
    for (const line of suite.visit.trouble.splice(0)) expect(line).toMatch(/frame-ancestors|status of 503/);
  });

  test("every chapter is reached, whole at every size, its pictures load from the same host, and axe finds nothing", async () => {
    const { page } = suite.visit;
    await page.keyboard.press("Control+5");
    const elsewhere: string[] = [];
    const own = new URL(page.url()).origin;
    page.on("request", (request) => {
      if (new URL(request.url()).origin !== own) elsewhere.push(request.url());
    });
    await openBook(page);
    const titles = await page.locator("dialog.handbook option").allTextContents();
    expect(titles.length).toBeGreaterThanOrEqual(10);
    for (const [width, height] of [
      [853, 480],
      [390, 844],
      [1280, 720],
      [1920, 1080],
    ] as const) {
      await page.setViewportSize({ width, height });
      for (const title of titles) {
        if (width > 1000)
          await page.getByRole("navigation", { name: "Chapters" }).getByRole("button", { name: title, exact: true }).press("Enter");
        else await page.locator("dialog.handbook select").selectOption({ label: title });
        await shown(page, title);
        const at = `${title} at ${width}x${height}`;
        await page.waitForFunction(() =>
          [...document.querySelectorAll<HTMLImageElement>("dialog.handbook img")].every((img) => img.naturalWidth > 0),
        );
        const over = await page.evaluate(() => {
          const dialog = document.querySelector("dialog.handbook") as HTMLElement;
          const text = dialog.querySelector("article") as HTMLElement;
          const box = dialog.getBoundingClientRect();
          return {
            wide: Math.max(text.scrollWidth - text.clientWidth, document.documentElement.scrollWidth - window.innerWidth),
            out: box.left < 0 || box.top < 0 || box.right > window.innerWidth || box.bottom > window.innerHeight,
            small: Math.min(...[...text.querySelectorAll("p, li, td, th")].map((one) => Number.parseFloat(getComputedStyle(one).fontSize))),
          };
        });
        expect(over.wide, at).toBeLessThanOrEqual(0);
        expect(over.out, at).toBe(false);
        // docs/look.md: at the desk letters have at least 20 px.
        expect(over.small, at).toBeGreaterThanOrEqual(20);
      }
      await suite.visit.shot(`handbook-${width}`);
      expect(await axeFindings(page, undefined, "dialog"), `${width}`).toEqual([]);
    }
    await page.setViewportSize({ width: 1280, height: 720 });
    await close(page);
    expect(elsewhere).toEqual([]);
    expect(PAGE_HEADERS["Content-Security-Policy"]).toContain("require-trusted-types-for 'script'");
  });

  test("a link leads to its chapter, and the box of keys has a button for people without F1", async () => {
    const { page } = suite.visit;
    await page.getByRole("button", { name: /Keys and settings/ }).click();
    await page
      .locator("dialog.keys")
      .getByRole("button", { name: /^Handbook/ })
      .click();
    await shown(page, "Runs and the report");
    await page.getByRole("button", { name: "Reading a verdict", exact: true }).last().press("Enter");
    await shown(page, "Reading a verdict");
    await page.getByRole("button", { name: "Time lost", exact: true }).press("Enter");
    await shown(page, "Tuning");
    await close(page);
  });

  test.each([
    ["drive", "Control+4"],
    ["compare", "Control+6"],
  ])("a launch closes it on %s, and Esc aborts", async (name, key) => {
    const { page, running } = suite.visit;
    const stay = (note: string) => running.core.request("drive.mark", { note });
    await page.keyboard.press("Control+4");
    await page.locator('body[data-page="drive"]').waitFor({ state: "attached" });
    await page.locator('.foot .main:not([aria-disabled="true"])').waitFor({ timeout: WAIT_MS });
    await stay("stay");
    await page.keyboard.press("Space");
    await page.locator(".plate[data-state=armed]").waitFor({ timeout: WAIT_MS });
    await page.keyboard.press(key);
    await page.locator(`body[data-page="${name}"]`).waitFor({ state: "attached" });
    await openBook(page);
    await stay("go on");
    await stay("go on");
    await page.locator("dialog").waitFor({ state: "detached", timeout: WAIT_MS });
    await page.keyboard.press("Escape");
    await page.keyboard.press("Control+4");
    await page.locator(".plate[data-state=aborted]").waitFor({ timeout: WAIT_MS });
    await page.keyboard.press("Escape");
  });
});
