/** Small things that stood in a passenger's way, in Chromium: typing in a label's box, undo beside the scheme, the night's brightest thing, its dimmer. Contrast: WCAG 2.2, 1.4.3 and 1.4.11. */
import { describe, expect, test } from "vitest";
import { browserPath, WAIT_MS } from "./support/browser.ts";
import { contrast } from "./support/spoken.ts";
import { useVisit } from "./support/visit.ts";

describe.skipIf(browserPath === null)("small things, in Chromium", () => {
  const suite = useVisit("fake");
  const go = async (name: string) => {
    await suite.visit.page.evaluate((hash) => {
      window.location.hash = hash;
    }, name);
    await suite.visit.page.locator(`body[data-page="${name}"]`).waitFor({ state: "attached" });
  };
  const token = (name: string) =>
    suite.visit.page.evaluate((of) => {
      const probe = document.createElement("i");
      probe.style.color = `var(--${of})`;
      document.body.append(probe);
      const { color } = getComputedStyle(probe);
      probe.remove();
      return color;
    }, name);

  test("in a label's box digits are typed and offered nowhere as keys, and what is typed takes the old label's place", async () => {
    const { page } = suite.visit;
    await page.getByRole("button", { name: "I have read this" }).press("Enter");
    await go("drive");
    await page.locator(".plate[data-state=idle]").waitFor({ timeout: WAIT_MS });
    await page.keyboard.press("e");
    const dialog = page.locator("dialog[open]");
    await dialog.locator("input").waitFor();
    expect(await dialog.locator(".choices button").count()).toBeGreaterThanOrEqual(2);
    expect(await dialog.locator(".choices kbd").count()).toBe(0);
    await page.keyboard.type("2 bar less");
    await page.keyboard.press("Enter");
    await page.locator(".run-words", { hasText: /^Run \d+, 2 bar less$/ }).waitFor({ timeout: WAIT_MS });
  });

  test("what can be undone stands beside the scheme's button, on the same line as before", async () => {
    const { page } = suite.visit;
    await page.setViewportSize({ width: 1280, height: 720 });
    await go("runs");
    await page.locator(".tile").first().click();
    const height = (await page.locator("header.frame").boundingBox())?.height;
    await page.keyboard.press("e");
    await page.locator("dialog[open] input").fill("wet tyres");
    await page.keyboard.press("Enter");
    await page.locator(".undo-bar button", { hasText: "Undo" }).waitFor();
    expect(await page.locator("header .scheme").isVisible()).toBe(true);
    expect((await page.locator("header.frame").boundingBox())?.height).toBe(height);
    await suite.visit.shot("undo-beside");
    // Beside a page with a scroll bar, which takes 15 px in Chromium on Linux.
    await page.setViewportSize({ width: 1265, height: 720 });
    expect((await page.locator("header.frame").boundingBox())?.height).toBe(height);
    // With three labels, on a screen of 1280 x 720 at 150 %, the next run's label box and its buttons are seen whole.
    await go("drive");
    await page.setViewportSize({ width: 853, height: 480 });
    await page.keyboard.press("e");
    const dialog = page.locator("dialog[open]");
    await dialog.locator("input").waitFor();
    expect(await dialog.locator(".choices button").count()).toBe(3);
    const label = await dialog.getByRole("button", { name: "Label", exact: true }).boundingBox();
    expect((label?.y ?? 480) + (label?.height ?? 0)).toBeLessThanOrEqual(480);
    await page.keyboard.press("Escape");
    await dialog.waitFor({ state: "detached" });
    await page.setViewportSize({ width: 1280, height: 720 });
  });

  test("runs are found by words, and the signs are told under F1, each flag with its meaning", async () => {
    const { page } = suite.visit;
    await go("runs");
    const all = await page.locator(".tile").count();
    // With the last run picked the row is scrolled to its end, and the button is in view all the same.
    await page.locator(".tile").last().click();
    const find = page.locator(".find-runs");
    expect((await find.boundingBox())?.x).toBeGreaterThanOrEqual(0);
    await find.click();
    await page.locator("dialog[open] input").fill("control off");
    await page.keyboard.press("Enter");
    await page.locator(".day-bar", { hasText: /^\d+ of \d+ runs have/ }).waitFor();
    const found = await page.locator(".tile").count();
    expect(found).toBeGreaterThan(0);
    expect(found).toBeLessThan(all);
    await suite.visit.shot("runs-found");
    await page.getByRole("button", { name: "All runs" }).click();
    expect(await page.locator(".tile").count()).toBe(all);
    await page.keyboard.press("F1");
    const signs = page.locator("dialog[open] .signs");
    await signs.locator("li", { hasText: "torque held back" }).scrollIntoViewIfNeeded();
    await suite.visit.shot("signs");
    expect(await signs.locator("li[data-flag]").count()).toBe(14);
    // Each sign is drawn: no canvas is empty.
    const empty = await signs.locator("canvas").evaluateAll(
      (canvases) =>
        (canvases as HTMLCanvasElement[]).filter((canvas) => {
          const data = canvas.getContext("2d")?.getImageData(0, 0, canvas.width, canvas.height).data ?? [];
          return canvas.width === 0 || !data.some((value) => value > 0);
        }).length,
    );
    expect(empty).toBe(0);
    await page.keyboard.press("Escape");
  });

  test("at night no filled block is brighter than the words, and the dimmer keeps everything legible", async () => {
    const { page } = suite.visit;
    while ((await page.evaluate(() => document.documentElement.dataset.scheme)) !== "night") await page.keyboard.press("t");
    await go("drive");
    await page.locator(".plate[data-state=idle]").waitFor({ timeout: WAIT_MS });
    await page.keyboard.press(" ");
    const abort = page.locator(".foot button[data-kind=abort]");
    await abort.waitFor({ timeout: WAIT_MS });
    const [ground, ink] = await abort.evaluate((button) => [getComputedStyle(button).backgroundColor, getComputedStyle(button).color]);
    expect(ground).toBe(await token("sheet"));
    expect(contrast(ink as string, ground as string)).toBeGreaterThanOrEqual(7);
    await suite.visit.shot("night-abort");
    await page.keyboard.press("Escape");
    // On a busy machine the launch had begun: until it is over only Esc acts.
    await page.locator(".plate[data-state=idle], .plate[data-state=aborted]").waitFor({ timeout: WAIT_MS });
    const inks: number[] = [];
    for (let step = 0; step < 3; step += 1) {
      const sheet = await token("sheet");
      for (const name of ["ink", "ink-2", "slip", "held"])
        expect(contrast(await token(name), sheet), `${name}, step ${step}`).toBeGreaterThanOrEqual(4.5);
      expect(contrast(await token("rule"), sheet), `rule, step ${step}`).toBeGreaterThanOrEqual(3);
      inks.push(contrast(await token("ink"), "rgb(0, 0, 0)"));
      await page.keyboard.press("h");
    }
    expect(inks).toEqual(inks.toSorted((a, b) => b - a));
    expect((inks[2] ?? 99) / (inks[0] ?? 1)).toBeLessThan(0.5);
    // Kept, and back to the first after the last.
    expect(await page.evaluate(() => document.documentElement.dataset.dim)).toBe("0");
  });
});
