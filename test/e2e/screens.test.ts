/**
 * The passenger's view and the run view in real Chromium, over a made-up measuring process: character height (cap height of IBM Plex Sans
 * 0.698 em; 4.4 mm is 20 minutes of arc at 0.75 m, from memory of ISO 15008), what acts while launched, unknown for what stops coming.
 */
import type { Browser, Page } from "playwright-core";
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, test } from "vitest";
import { browserPath, openBrowser, WAIT_MS } from "./support/browser.ts";
import { type Spoken, spoken } from "./support/spoken.ts";
import { useScheme } from "./support/scheme.ts";
import { startVisit, type Visit } from "./support/visit.ts";

const SCHEMES = ["day", "night", "sun"] as const;
const MM_PER_PX = 0.16;
const CAP_PER_EM = 0.698;

const go = async (page: Page, name: string) => {
  await page.evaluate((hash) => {
    window.location.hash = hash;
  }, name);
  await page.locator(`body[data-page="${name}"]`).waitFor({ state: "attached" });
};
const plate = (page: Page, word: string) => page.locator(".plate", { hasText: new RegExp(`^${word}$`, "i") }).waitFor({ timeout: WAIT_MS });

describe.skipIf(browserPath === null)("screens in Chromium", () => {
  let browser: Browser;
  let visit: Visit;
  let hostIsClosed = false;
  beforeAll(async () => {
    browser = await openBrowser();
  });
  afterAll(() => browser?.close());
  beforeEach(async () => {
    hostIsClosed = false;
    visit = await startVisit(browser, "fake");
  });
  afterEach(async () => {
    await visit.end();
    // The browser itself reports a lost socket.
    expect(visit.trouble.filter((line) => !hostIsClosed || !line.includes("WebSocket connection"))).toEqual([]);
  });

  /** The stand-in's states stand until it is told to go on. */
  const stay = () => visit.running.core.request("drive.mark", { note: "stay" });
  const goOn = () => visit.running.core.request("drive.mark", { note: "go on" });

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
      "Time lost",
      "Plan",
      "Report",
    ]);
    expect(await page.locator(".frame-day").textContent()).toContain("simulated car");
    await page.getByRole("button", { name: "I have read this" }).click();
    await page.reload();
    await page.locator(".tile").first().waitFor();
    expect(await page.locator(".bar[data-key=cautions]").count()).toBe(0);
  });

  test.each(SCHEMES)("the passenger's view is legible at 0.75 m in every state in the %s scheme", async (name) => {
    const { page } = visit;
    await useScheme(page, name);
    await go(page, "drive");
    const capMm = (text: Spoken) => text.fontPx * CAP_PER_EM * MM_PER_PX;
    const check = async (state: string) => {
      await plate(page, state);
      const texts = await spoken(page, ".drive");
      expect(texts.filter((text) => capMm(text) < 4.4)).toEqual([]);
      const hero = await page.locator(".hero .text").evaluate((element) => Number.parseFloat(getComputedStyle(element).fontSize));
      expect(hero * CAP_PER_EM * MM_PER_PX).toBeGreaterThanOrEqual(13);
      // Nothing is cut off: the whole view fits on one screen.
      expect(await page.evaluate(() => document.documentElement.scrollHeight), state).toBeLessThanOrEqual(720);
      await visit.shot(`drive-${state}-${name}`);
    };
    await check("idle");
    await stay();
    await page.keyboard.press("Space");
    await check("armed");
    await goOn();
    await check("standing");
    await goOn();
    await check("launched");
    // Past the second gate, when most of the launch is drawn.
    await page.waitForFunction(() => /^60 (ft|mph)/.test(document.querySelector(".hero p")?.textContent ?? ""));
    await visit.shot(`drive-launched-late-${name}`);
    await goOn();
    await check("done");
    const box = await page.locator(".foot button.main").boundingBox();
    expect(box?.width).toBeGreaterThanOrEqual(400);
    expect(box?.height).toBeGreaterThanOrEqual(76);
  });

  test("a notice above, or three lines of words below, does not make the passenger's view scroll in any scheme", async () => {
    const { page } = visit;
    await page.getByRole("button", { name: "I have read this" }).click();
    await go(page, "drive");
    await plate(page, "idle");
    const height = () => page.evaluate(() => document.documentElement.scrollHeight);
    for (const name of SCHEMES) {
      await useScheme(page, name);
      await page.evaluate(() => {
        const bar = document.createElement("div");
        const [words, close] = [document.createElement("p"), document.createElement("button")];
        [words.textContent, close.textContent] = ["The computer slept: arm again.", "Close"];
        bar.className = "bar";
        bar.append(words, close);
        document.body.prepend(bar);
        const next = document.querySelector<HTMLElement>(".foot .next");
        next?.removeAttribute("style");
        if (next?.firstElementChild != null) next.firstElementChild.textContent = "Closed course only";
      });
      expect(await height(), `${name}, with a notice`).toBeLessThanOrEqual(720);
      const lines = await page.evaluate(() => {
        document.querySelector(".bar")?.remove();
        const next = document.querySelector<HTMLElement>(".foot .next");
        if (next === null || next.firstElementChild === null) return 0;
        next.style.flex = "none";
        next.style.width = "10.75em";
        next.firstElementChild.textContent = "Stand still, look round, then give the all-clear";
        (next.lastElementChild as HTMLElement).textContent = "Next: control on";
        return Math.round(next.getBoundingClientRect().height / (1.12 * Number.parseFloat(getComputedStyle(next).fontSize)));
      });
      expect(lines, name).toBe(3);
      expect(await height(), `${name}, three lines`).toBeLessThanOrEqual(720);
    }
  });

  test("while launched only Esc acts, and it keeps the run, flagged", async () => {
    const { page } = visit;
    await go(page, "drive");
    await stay();
    await page.keyboard.press("Space");
    for (const state of ["armed", "standing"]) {
      await plate(page, state);
      await goOn();
    }
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
    await stay();
    await page.getByRole("button", { name: /^Arm/ }).click();
    for (const state of ["armed", "standing"]) {
      await plate(page, state);
      await goOn();
    }
    await plate(page, "launched");
    await page.getByRole("button", { name: /^Abort/ }).click();
    await plate(page, "aborted");
  });

  test("values that stop coming are unknown within a second, never the last ones", async () => {
    const { page, running } = visit;
    await go(page, "drive");
    await plate(page, "idle");
    hostIsClosed = true;
    await running.host.close();
    await plate(page, "unknown");
    expect(await page.locator(".pair-head b").allTextContents()).toEqual(["unknown", "unknown", "unknown", "unknown"]);
    expect(await page.locator(".loss .value").allTextContents()).toEqual(["unknown", "unknown"]);
  });

  test("a run is picked, scrubbed, played, labelled, set aside and used again by keyboard alone", async () => {
    const { page } = visit;
    await page.locator(".tile").first().waitFor();
    await page.keyboard.press("[");
    await page.keyboard.press("[");
    await page.locator("h1", { hasText: "Run 10, traction control on" }).waitFor();
    // Until its figure stands, the keys move the cursor of the run before.
    await page.locator('.run-body[aria-busy="false"]').waitFor();
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
});
