/**
 * Fingers on the run view, as real touches through the browser's own input (CDP Input.dispatchTouchEvent): one pans, two zoom about their middle, a
 * still one picks; and R, with its button and its undo, on the passenger's view under a plan.
 */
import type { Browser, CDPSession, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { browserPath, openBrowser, WAIT_MS } from "./support/browser.ts";
import { startVisit, type Visit } from "./support/visit.ts";

type Finger = readonly [x: number, y: number];
const STEPS = 8;

/** Moves fingers in small steps from one place to another, as a hand does. */
async function swipe(cdp: CDPSession, from: readonly Finger[], to: readonly Finger[]): Promise<void> {
  const points = (share: number) =>
    from.map(([x, y], id) => {
      const [tx, ty] = to[id] ?? [x, y];
      return { x: x + (tx - x) * share, y: y + (ty - y) * share, id };
    });
  await cdp.send("Input.dispatchTouchEvent", { type: "touchStart", touchPoints: points(0) });
  for (let step = 1; step <= STEPS; step += 1)
    await cdp.send("Input.dispatchTouchEvent", { type: "touchMove", touchPoints: points(step / STEPS) });
  await cdp.send("Input.dispatchTouchEvent", { type: "touchEnd", touchPoints: [] });
}

/** The axis as the figure says it to readers: from, to. */
const windowOf = async (page: Page) => {
  const words = (await page.locator(".figure-box canvas").first().getAttribute("aria-label")) ?? "";
  const [, from, to] = /from (\u2212?[\d.]+) to (\u2212?[\d.]+) s/.exec(words) ?? [];
  const number = (text: string | undefined) => Number(text?.replace("\u2212", "-"));
  return { from: number(from), to: number(to) };
};
const cursor = async (page: Page) => Number(await page.locator(".scrubber").getAttribute("aria-valuenow"));

describe.skipIf(browserPath === null)("touch and the slot driven again, in Chromium", () => {
  let browser: Browser;
  beforeAll(async () => {
    browser = await openBrowser();
  });
  afterAll(() => browser?.close());

  const visiting = async (source: "fake" | "planned", size: { width: number; height: number }, work: (visit: Visit) => Promise<void>) => {
    const visit = await startVisit(browser, source, { hasTouch: true, viewport: size });
    try {
      await visit.page.getByRole("button", { name: "I have read this" }).tap();
      await visit.page.locator("body[data-page=runs]").waitFor({ state: "attached" });
      await work(visit);
      expect(visit.trouble).toEqual([]);
    } finally {
      await visit.end();
    }
  };

  test.each([
    { width: 1280, height: 720 },
    { width: 390, height: 844 },
  ])("one finger pans, two zoom about their middle, a still one picks, up and down scrolls the page (%o)", (size) =>
    visiting("fake", size, async ({ page, shot }) => {
      await page.locator('.run-body[aria-busy="false"]').waitFor();
      await page.locator(".figure-box").scrollIntoViewIfNeeded();
      const cdp = await page.context().newCDPSession(page);
      const box = await page.locator(".figure-box").boundingBox();
      if (box === null) throw new TypeError("no figure");
      const y = box.y + box.height / 2;
      const [left, right, middle] = [box.x + box.width * 0.35, box.x + box.width * 0.65, box.x + box.width / 2];
      const whole = await windowOf(page);
      const width = whole.to - whole.from;

      // Two fingers part by twice their distance: half the time is left, about their middle.
      const spread = (right - left) / 2;
      await swipe(
        cdp,
        [
          [left, y],
          [right, y],
        ],
        [
          [left - spread, y],
          [right + spread, y],
        ],
      );
      const near = await windowOf(page);
      expect(near.to - near.from).toBeCloseTo(width / 2, 1);
      const share = (middle - box.x - 64) / (box.width - 72);
      const about = (window: typeof whole) => window.from + share * (window.to - window.from);
      expect(Math.abs(about(near) - about(whole))).toBeLessThan(0.1);
      await shot(`touch-pinched-${size.width}`);

      // What lies under one finger goes with it.
      const way = box.width * 0.2;
      await swipe(cdp, [[middle, y]], [[middle + way, y]]);
      const panned = await windowOf(page);
      expect(panned.to - panned.from).toBeCloseTo(near.to - near.from, 1);
      expect(near.from - panned.from).toBeCloseTo((way / (box.width - 72)) * (near.to - near.from), 1);
      // Neither was a pick.
      const before = await cursor(page);
      await page.touchscreen.tap(box.x + box.width * 0.8, y);
      expect(await cursor(page)).toBeGreaterThan(before + 0.2);

      // Fingers that close again give the whole back, and no more than the run has.
      await swipe(
        cdp,
        [
          [left - spread, y],
          [right + spread, y],
        ],
        [
          [middle - 10, y],
          [middle + 10, y],
        ],
      );
      const far = await windowOf(page);
      expect(far.to - far.from).toBeGreaterThan(width);
      if (size.width > 700) return;
      const top = await page.evaluate(() => window.scrollY);
      await swipe(cdp, [[middle, y]], [[middle, y - 200]]);
      await page.waitForFunction((was) => window.scrollY > was, top);
    }),
  );

  test("R has the slot of the run just stored driven again; its button stands there, what was done is undone where it was done", () =>
    visiting("planned", { width: 1280, height: 720 }, async ({ page, shot }) => {
      await page.keyboard.press("Control+4");
      await page.locator(".plate[data-state=idle]").waitFor();
      const again = page.getByRole("button", { name: /^Drive again/ });
      const undo = page.locator(".drive").getByRole("button", { name: /^Undo/ });
      const done = async () => (await page.locator(".hero .text").textContent()) ?? "";
      /** Nothing scrolls at 1280 x 720, in any scheme. */
      const fits = async (state: string) => {
        for (const scheme of ["night", "sun", "day"]) {
          while ((await page.evaluate(() => document.documentElement.dataset.scheme)) !== scheme) await page.keyboard.press("t");
          expect(await page.evaluate(() => document.documentElement.scrollHeight), `${state}, ${scheme}`).toBeLessThanOrEqual(720);
        }
      };
      expect(await done()).toBe("0 of 12");
      await fits("idle");
      expect(await again.isVisible()).toBe(false);
      await page.keyboard.press("Space");
      await page.locator(".plate[data-state=launched]").waitFor({ timeout: WAIT_MS });
      expect(await again.isVisible()).toBe(false);
      await page.locator(".plate[data-state=done]").waitFor({ timeout: WAIT_MS });
      await again.waitFor();
      expect(await again.locator("kbd").textContent()).toBe("R");
      const { height } = (await again.boundingBox()) ?? { height: 0 };
      expect(height).toBeGreaterThanOrEqual(76);
      await shot("drive-again-offered");
      await fits("offered");
      await page.keyboard.press("r");
      await undo.waitFor();
      await page.locator("[role=status]", { hasText: "The slot of run 13 is driven again" }).waitFor({ state: "attached" });
      expect(await again.isVisible()).toBe(false);
      await shot("drive-again-undo");
      await fits("undo");
      await page.keyboard.press("Control+z");
      await again.waitFor();
      // By a gloved tap as well.
      await again.tap();
      await undo.waitFor();
      await page.keyboard.press("Escape");
      await page.locator(".plate[data-state=idle]").waitFor();
      expect(await done()).toBe("0 of 12");
      await undo.tap();
      await page.waitForFunction(() => document.querySelector(".hero .text")?.textContent === "1 of 12");
      // The frame has its undo back on every other page.
      await page.keyboard.press("Control+5");
      // The page changes with the address, an event later.
      await page.locator("body[data-page=runs]").waitFor({ state: "attached" });
      expect(await page.locator(".frame .undo-bar").count()).toBe(1);
    }));
});
