/**
 * What stopped a second passenger, in Chromium: labels and sizes that ran over the view, a number that stood beside another run's label, a
 * bar that did not grow.
 */
import type { Page } from "playwright-core";
import { describe, expect, test } from "vitest";
import { browserPath, WAIT_MS } from "./support/browser.ts";
import { useVisit } from "./support/visit.ts";

const go = async (page: Page, name: string) => {
  await page.evaluate((hash) => {
    window.location.hash = hash;
  }, name);
  // A key pressed before would be the other page's.
  await page.locator(`body[data-page=${name}]`).waitFor({ state: "attached" });
};
const plate = (page: Page, state: string) => page.locator(`.plate[data-state=${state}]`).waitFor({ timeout: WAIT_MS });

/** What in the passenger's view lies outside of the screen, or over other words. */
const crowded = (page: Page) =>
  page.evaluate(() => {
    const seen = (element: Element | null) => {
      const box = element?.getBoundingClientRect();
      return box === undefined || box.width === 0 ? null : box;
    };
    const [hero, side, loss, seam] = [".hero .figure", ".side > :not([hidden])", ".loss", ".seam"].map((name) =>
      seen(document.querySelector(name)),
    );
    const foot = seen(document.querySelector(".foot"));
    const below = Math.min(loss?.top ?? Infinity, seam?.top ?? Infinity);
    const found: string[] = [];
    if (document.documentElement.scrollHeight > window.innerHeight) found.push("the page scrolls");
    if ((foot?.bottom ?? Infinity) > window.innerHeight) found.push("the foot is off the screen");
    // A figure has no feet, and its line leaves room for them.
    if ((hero?.bottom ?? 0) - 0.1 * (hero?.height ?? 0) > below && (hero?.right ?? 0) > (loss?.left ?? 0)) found.push("hero over slip");
    if (window.innerWidth > 1000 && (side?.bottom ?? 0) > (seam?.top ?? Infinity)) found.push("setting over the seam");
    if (window.innerWidth > 1000 && (loss?.bottom ?? 0) > (foot?.top ?? Infinity)) found.push("slip over the foot");
    return found;
  });

describe.skipIf(browserPath === null)("a second passenger, in Chromium", () => {
  const suite = useVisit("fake");

  test.each([
    [1280, 720],
    [1920, 1080],
    [390, 844],
  ])(
    "a label of 200 letters leaves every part of the view its place on %i x %i, and the label box all its choices",
    async (width, height) => {
      const { page } = suite.visit;
      const long = `Winter tyres, 1.6 bar, ${"extra-very-long-label ".repeat(9)}`.slice(0, 200);
      await page.setViewportSize({ width: 1280, height: 720 });
      // A run that carries it makes it a choice in the box.
      await go(page, "runs");
      await page.locator('.run-body[aria-busy="false"]').waitFor();
      await page.keyboard.press("e");
      await page.locator("dialog[open] input").fill(long);
      await page.keyboard.press("Enter");
      await page.locator(".runs h1", { hasText: "extra-very" }).waitFor();
      await page.locator(".undo-bar").waitFor();
      await go(page, "drive");
      await page.keyboard.press("Escape");
      await plate(page, "idle");
      await page.keyboard.press("e");
      await page.locator("dialog[open] input").fill(long);
      await page.keyboard.press("Enter");
      await page.locator(".run-words", { hasText: /\u2026/ }).waitFor();
      await page.setViewportSize({ width, height });
      for (const state of ["idle", "armed", "standing", "launched", "aborted"]) {
        if (state === "armed") await page.keyboard.press("Space");
        if (state === "aborted") await page.keyboard.press("Escape");
        await plate(page, state);
        // A picture takes so long that it misses short states.
        if (state === "idle" || state === "aborted") await suite.visit.shot(`passenger-long-label-${width}-${state}`);
        expect([state, await crowded(page)]).toEqual([state, []]);
      }
      await page.setViewportSize({ width: 1280, height: 720 });
      await page.keyboard.press("e");
      const dialog = page.locator("dialog[open]");
      expect(await dialog.evaluate((box) => box.scrollHeight <= box.clientHeight)).toBe(true);
      await suite.visit.shot("passenger-long-label-box");
      await page.locator("dialog[open] .choices button", { hasText: "traction control on" }).click();
      await page.locator(".run-words", { hasText: "control on" }).waitFor();
    },
  );

  test("the letters grow no further than the view has room for, however fine the screen is said to be, and the bar grows with them", async () => {
    const { page } = suite.visit;
    await page.setViewportSize({ width: 1280, height: 720 });
    await go(page, "drive");
    await page.keyboard.press("Escape");
    await plate(page, "idle");
    await page.keyboard.press("F1");
    const size = page.locator("dialog.keys").getByLabel(/Width of the bar/);
    const bar = () => page.locator(".card-edge").evaluate((edge) => edge.getBoundingClientRect().width);
    await size.focus();
    await page.keyboard.press("End");
    const widest = await bar();
    await page.keyboard.press("PageDown");
    expect(await bar()).toBeLessThan(widest);
    await page.keyboard.press("End");
    await suite.visit.shot("passenger-size");
    await page.keyboard.press("Escape");
    for (const [width, height] of [
      [1280, 720],
      [1920, 1080],
    ] as const) {
      await page.setViewportSize({ width, height });
      for (const scheme of ["day", "night", "sun"]) {
        while ((await page.evaluate(() => document.documentElement.dataset.scheme)) !== scheme) await page.keyboard.press("t");
        await suite.visit.shot(`passenger-size-${width}-${scheme}`);
        expect([width, scheme, await crowded(page)]).toEqual([width, scheme, []]);
      }
      await page.keyboard.press("Space");
      for (const state of ["armed", "standing", "launched"]) {
        await plate(page, state);
        expect([width, state, await crowded(page)]).toEqual([width, state, []]);
      }
      await page.keyboard.press("Escape");
      await plate(page, "aborted");
      expect([width, "aborted", await crowded(page)]).toEqual([width, "aborted", []]);
    }
    while ((await page.evaluate(() => document.documentElement.dataset.scheme)) !== "day") await page.keyboard.press("t");
    await page.keyboard.press("F1");
    await size.fill("6.25");
    await page.keyboard.press("Escape");
  });
});
