/**
 * The screens in real Chromium, over a made-up measuring process: axe-core (WCAG 2.2 A and AA), contrast from computed styles
 * (WCAG 2.2 relative luminance, 1.4.3), character height (cap height of IBM Plex Sans 0.698 em; 4.4 mm is 20 minutes of arc at 0.75 m,
 * from memory of ISO 15008), and the whole way by keyboard alone.
 */
import AxeBuilder from "@axe-core/playwright";
import type { Browser, Page } from "playwright-core";
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, test } from "vitest";
import { browserPath, openBrowser } from "./support/browser.ts";
import { startVisit, type Visit } from "./support/visit.ts";

const SCHEMES = ["day", "night", "sun"] as const;
const PAGES = ["before", "drive", "runs"] as const;
const MM_PER_PX = 0.16;
const CAP_PER_EM = 0.698;

interface Spoken {
  readonly text: string;
  readonly fontPx: number;
  readonly ink: string;
  readonly ground: string;
}

/** Every visible piece of text with its size, colour and the ground it stands on. */
const spoken = (page: Page, scope: string): Promise<Spoken[]> =>
  page.evaluate((selector) => {
    const found: Spoken[] = [];
    const walker = document.createTreeWalker(document.querySelector(selector) ?? document.body, NodeFilter.SHOW_TEXT);
    for (let node = walker.nextNode(); node !== null; node = walker.nextNode()) {
      const element = node.parentElement;
      const text = node.textContent?.trim() ?? "";
      if (element === null || text === "" || !element.checkVisibility() || element.closest(".out-of-sight") !== null) continue;
      const style = getComputedStyle(element);
      let under: Element | null = element;
      let ground = "rgba(0, 0, 0, 0)";
      while (under !== null && ground === "rgba(0, 0, 0, 0)") {
        ground = getComputedStyle(under).backgroundColor;
        under = under.parentElement;
      }
      found.push({ text, fontPx: Number.parseFloat(style.fontSize), ink: style.color, ground });
    }
    return found;
  }, scope);

function luminance(colour: string): number {
  const [r = 0, g = 0, b = 0] = (colour.match(/[\d.]+/g) ?? []).map((part) => {
    const c = Number(part) / 255;
    return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
  });
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}
const contrast = (a: string, b: string) => {
  const [x, y] = [luminance(a), luminance(b)];
  return (Math.max(x, y) + 0.05) / (Math.min(x, y) + 0.05);
};

const go = async (page: Page, name: string) => {
  await page.evaluate((hash) => {
    window.location.hash = hash;
  }, name);
  await page.locator(`body[data-page="${name}"]`).waitFor({ state: "attached" });
};
const scheme = (page: Page, name: string) =>
  page.evaluate((wanted) => {
    while (document.documentElement.dataset.scheme !== wanted)
      document.dispatchEvent(new KeyboardEvent("keydown", { key: "t", bubbles: true }));
  }, name);
const plate = (page: Page, word: string) => page.locator(".plate", { hasText: new RegExp(`^${word}$`, "i") }).waitFor({ timeout: 15_000 });

describe.skipIf(browserPath === null)("screens in Chromium", () => {
  let browser: Browser;
  let visit: Visit;
  beforeAll(async () => {
    browser = await openBrowser();
  });
  afterAll(() => browser?.close());
  beforeEach(async () => {
    visit = await startVisit(browser, "fake");
  });
  afterEach(async () => {
    await visit.end();
    expect(visit.trouble).toEqual([]);
  });

  test("first start shows the cautions, the shelf of twelve, and only pages that work", async () => {
    const { page } = visit;
    await page.locator(".bar[data-key=cautions]").waitFor();
    expect(await page.locator(".bar[data-key=cautions]").textContent()).toMatch(
      /closed course or private ground[\s\S]*driver never reads/i,
    );
    expect(await page.locator(".tile").count()).toBe(12);
    expect(await page.locator("nav a").allInnerTexts()).toEqual([
      "Car",
      "Wiring",
      "Before driving",
      "Drive",
      "Runs",
      "Compare",
      "Plan",
      "Report",
    ]);
    expect(await page.locator(".frame-day").textContent()).toContain("simulated car");
    await page.getByRole("button", { name: "I have read this" }).click();
    await page.reload();
    await page.locator(".tile").first().waitFor();
    expect(await page.locator(".bar[data-key=cautions]").count()).toBe(0);
  });

  test.each(SCHEMES)("axe-core finds nothing on any page in the %s scheme, and every text has its contrast", async (name) => {
    const { page } = visit;
    await scheme(page, name);
    for (const where of PAGES) {
      await go(page, where);
      await page.waitForTimeout(400);
      const { violations } = await new AxeBuilder({ page })
        .withTags(["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"])
        .analyze();
      expect(violations.map((violation) => `${where} ${violation.id}: ${violation.nodes.map((node) => node.html).join(" ")}`)).toEqual([]);
      // DESIGN and LOOK: 18:1 or more in sun, 7:1 for text elsewhere.
      const least = name === "sun" ? 18 : 7;
      const weak = (await spoken(page, "body")).filter((text) => contrast(text.ink, text.ground) < least);
      expect(weak).toEqual([]);
      await visit.shot(`screen-${where}-${name}`);
    }
  });

  test.each(SCHEMES)("the passenger's view is legible at 0.75 m in every state in the %s scheme", async (name) => {
    const { page } = visit;
    await scheme(page, name);
    await go(page, "drive");
    const capMm = (text: Spoken) => text.fontPx * CAP_PER_EM * MM_PER_PX;
    const check = async (state: string) => {
      await plate(page, state);
      const texts = await spoken(page, ".drive");
      expect(texts.filter((text) => capMm(text) < 4.4)).toEqual([]);
      const hero = await page.locator(".hero .text").evaluate((element) => Number.parseFloat(getComputedStyle(element).fontSize));
      expect(hero * CAP_PER_EM * MM_PER_PX).toBeGreaterThanOrEqual(13);
      await visit.shot(`drive-${state}-${name}`);
    };
    await check("idle");
    await page.keyboard.press("Space");
    await check("armed");
    await check("standing");
    await check("launched");
    await page.waitForTimeout(3_000);
    await visit.shot(`drive-launched-late-${name}`);
    await check("done");
    const box = await page.locator(".foot button.main").boundingBox();
    expect(box?.width).toBeGreaterThanOrEqual(400);
    expect(box?.height).toBeGreaterThanOrEqual(76);
    // Nothing is cut off: the whole view stands in one screen.
    expect(await page.evaluate(() => document.documentElement.scrollHeight)).toBeLessThanOrEqual(720);
  });

  test("while launched only Esc acts, and it keeps the run, flagged", async () => {
    const { page } = visit;
    await go(page, "drive");
    await page.keyboard.press("Space");
    await plate(page, "launched");
    for (const key of ["t", "l", "f", "m", "n", "e", "1", "F1", "Control+3", "Space"]) await page.keyboard.press(key);
    expect(await page.evaluate(() => document.documentElement.dataset.scheme)).toBe("day");
    expect(await page.locator("dialog[open]").count()).toBe(0);
    expect(await page.evaluate(() => document.body.dataset.page)).toBe("drive");
    await plate(page, "launched");
    await page.keyboard.press("Escape");
    await plate(page, "aborted");
    expect(await page.locator(".hero").textContent()).toMatch(/kept and flagged\s*aborted/i);
  });

  test("the abort button ends a launch by one click", async () => {
    const { page } = visit;
    await go(page, "drive");
    await page.getByRole("button", { name: /^Arm/ }).click();
    await plate(page, "launched");
    await page.getByRole("button", { name: /^Abort/ }).click();
    await plate(page, "aborted");
  });

  test("values that stop coming are unknown within a second, never the last ones", async () => {
    const { page, running } = visit;
    await go(page, "drive");
    await plate(page, "idle");
    await running.host.close();
    await plate(page, "unknown");
    expect(await page.locator(".pair-head b").allTextContents()).toEqual(["unknown", "unknown", "unknown", "unknown"]);
    expect(await page.locator(".loss .value").allTextContents()).toEqual(["unknown", "unknown"]);
    // The lost socket is reported by the browser itself; that is what this test is about.
    visit.trouble.length = 0;
  });

  test("a run is picked, scrubbed, played, labelled, set aside and taken back by keyboard alone", async () => {
    const { page } = visit;
    await page.locator(".tile").first().waitFor();
    await page.keyboard.press("[");
    await page.keyboard.press("[");
    await page.locator("h1", { hasText: "Run 10, traction control on" }).waitFor();
    const slider = page.getByRole("slider", { name: "Time from movement" });
    const now = async () => Number(await slider.getAttribute("aria-valuenow"));
    await page.keyboard.press("Home");
    const start = await now();
    await page.keyboard.press("ArrowRight");
    expect(await now()).toBeCloseTo(start + 0.01, 5);
    await page.keyboard.press("Shift+ArrowRight");
    expect(await now()).toBeCloseTo(start + 0.11, 5);
    await page.keyboard.press("g");
    expect(await page.locator(".gates").textContent()).toContain((await now()).toFixed(3));
    await page.keyboard.press("5");
    await page.keyboard.press("Home");
    await page.keyboard.press("Space");
    await page.waitForFunction(() => Number(document.querySelector(".scrubber")?.getAttribute("aria-valuenow")) > 2);
    await page.keyboard.press("Space");
    await visit.shot("runs-replay");
    await page.keyboard.press("e");
    await page.keyboard.press("Control+A");
    await page.keyboard.type("wet, softer");
    await page.keyboard.press("Enter");
    await page.locator("h1", { hasText: "Run 10, wet, softer" }).waitFor();
    await page.keyboard.press("Control+z");
    await page.locator("h1", { hasText: "Run 10, traction control on" }).waitFor();
    await page.keyboard.press("x");
    await page.keyboard.type("gust of wind");
    await page.keyboard.press("Enter");
    await page.locator("h1", { hasText: "set aside" }).waitFor();
    await page.locator(".notes", { hasText: "gust of wind" }).waitFor();
    await page.keyboard.press("x");
    await page.keyboard.press("Enter");
    await page.waitForFunction(() => !document.querySelector("h1")?.textContent?.includes("set aside"));
    for (const key of ["l", "[", "l", "o", "d", "a"]) {
      await page.keyboard.press(key);
      await page.waitForTimeout(150);
      await visit.shot(`runs-key-${key === "[" ? "overlay" : key}`);
    }
  });

  test("focus is visible wherever Tab leads", async () => {
    const { page } = visit;
    await page.locator(".tile").first().waitFor();
    for (let i = 0; i < 30; i += 1) {
      await page.keyboard.press("Tab");
      const seen = await page.evaluate(() => {
        const element = document.activeElement;
        if (element === null || element === document.body) return null;
        const style = getComputedStyle(element);
        return { width: Number.parseFloat(style.outlineWidth), style: style.outlineStyle };
      });
      if (seen !== null) expect(seen).toEqual({ width: 4, style: "solid" });
    }
  });

  test.each([
    ["wide", 1920, 1080],
    ["phone", 390, 844],
  ])("nothing runs out of the side on a %s screen", async (name, width, height) => {
    const { page } = visit;
    await page.setViewportSize({ width, height });
    for (const where of PAGES) {
      await go(page, where);
      await page.waitForTimeout(400);
      await visit.shot(`screen-${where}-${name}`);
      expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(width);
    }
    await go(page, "drive");
    await page.keyboard.press("Space");
    await plate(page, "launched");
    await page.waitForTimeout(2_500);
    await visit.shot(`drive-launched-${name}`);
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(width);
  });
});
