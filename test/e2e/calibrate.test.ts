/**
 * The guided calibration on the Car screen, driven by the built-in simulated car in real time, by keyboard alone: progress and intervals
 * that narrow, accepted, stored with its date and tyres, its chart saved; and called out of date once the tyres changed. True radius of the
 * simulated car: car.ts.
 */
import { readFileSync } from "node:fs";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { addPlannedDay } from "../support/planned-day.ts";
import { axeFindings } from "./support/axe.ts";
import { browserPath, openBrowser, WAIT_MS } from "./support/browser.ts";
import { useScheme } from "./support/scheme.ts";
import { startVisit, type Visit } from "./support/visit.ts";

const narrowing = async (page: Page) => {
  const words = (await page.locator(".narrows").first().textContent()) ?? "";
  const [, radius, half, seconds] = /Radius ([\d.]+) . ([\d.]+) m,.*after (\d+) s/.exec(words) ?? [];
  return { radiusM: Number(radius), halfM: Number(half), seconds: Number(seconds) };
};
const driven = (page: Page) =>
  page.locator(".step progress").evaluateAll((rods) => rods.reduce((sum, rod) => sum + (rod as HTMLProgressElement).value, 0));

describe.skipIf(browserPath === null)("a guided calibration in Chromium", () => {
  let browser: Browser;
  let visit: Visit;
  beforeAll(async () => {
    browser = await openBrowser();
    // A book with runs: no first day has to be driven before the car moves.
    visit = await startVisit(browser, "fast", { acceptDownloads: true, permissions: ["clipboard-read", "clipboard-write"] }, (file) =>
      addPlannedDay(file, 4),
    );
    await visit.page.getByRole("button", { name: "I have read this" }).press("Enter");
    await visit.page.locator("body[data-page=runs]").waitFor({ state: "attached" });
    await visit.page.keyboard.press("Control+1");
    await visit.page.locator(".page.car h1", { hasText: "Odrel" }).waitFor();
  });
  afterAll(async () => {
    await visit?.shot("calibrate-last");
    await visit?.end();
    await browser?.close();
  });

  test("shows what to drive, rods that fill and intervals that narrow, until both figures are good", async () => {
    const { page } = visit;
    await page.keyboard.press("k");
    await page.locator(".guided .lead", { hasText: /Straight on at 30 to 45 km\/h|gently/ }).waitFor();
    expect(await page.locator(".stations").isVisible()).toBe(false);
    await page.getByLabel("Tyres on the car").fill("265/35R19, new");
    await page.getByLabel("Pressure, kPa").fill("240");
    await page.getByLabel("Pressure, kPa").press("Tab");
    await page.waitForFunction(() => /\u00b1 0\.0\d+ m/.test(document.querySelector(".narrows")?.textContent ?? ""), undefined, {
      timeout: WAIT_MS,
    });
    const first = await narrowing(page);
    const filled = await driven(page);
    await visit.shot("calibrate-early");
    const accept = page.getByRole("button", { name: /^Accept/ });
    await page.locator(".guided button.solid", { hasText: "Accept" }).waitFor({ timeout: WAIT_MS });
    expect(await accept.isVisible()).toBe(true);
    const last = await narrowing(page);
    expect(last.halfM).toBeLessThan(first.halfM);
    expect(last.seconds).toBeGreaterThan(first.seconds);
    expect(await driven(page)).toBeGreaterThan(filled);
    await page.locator(".guided .lead", { hasText: "Both figures are good: accept them." }).waitFor();
    for (const scheme of ["night", "sun", "day"] as const) {
      await useScheme(page, scheme);
      await visit.shot(`calibrate-good-${scheme}`);
    }
    expect(await axeFindings(page)).toEqual([]);
  });

  test("its chart is saved and its data copied with their units", async () => {
    const { page } = visit;
    const save = page.getByRole("button", { name: /Save the chart: the calibration/ });
    await save.press("Enter");
    const [download] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name: "SVG" }).press("Enter")]);
    expect(download.suggestedFilename()).toBe("calibration.svg");
    const words = await visit.alone("calibration.svg", readFileSync(await download.path(), "utf8"));
    expect(words).toEqual(expect.arrayContaining(["Radius, m", "Receiver delay, ms"]));
    await page.getByRole("button", { name: "Copy data" }).press("Enter");
    await page.getByRole("button", { name: "Copied" }).waitFor();
    const [head, ...rows] = (await page.evaluate(() => navigator.clipboard.readText())).split("\n");
    expect(head).toBe(
      "Driven (s)\tRadius (m)\tRadius, half width at 95 % (m)\tReceiver delay (ms)\tReceiver delay, half width at 95 % (ms)",
    );
    expect(rows.length).toBeGreaterThan(5);
    await page.keyboard.press("Escape");
  });

  test("accepted, it is kept with its date and tyres; other pressures call it stale, and back again it holds", async () => {
    const { page } = visit;
    await page.locator(".guided .lead").first().click();
    const now = await narrowing(page);
    await page.keyboard.press("y");
    await page
      .locator("h1:visible", { hasText: /^Odrel is known well enough to measure slip to 0\.\d+.%\.$/ })
      .waitFor({ timeout: WAIT_MS });
    await page
      .locator(".page.car .lead", { hasText: /^Calibration \d+, driven \d+ \w+ at \d\d:\d\d, on 265\/35R19, new, 240.kPa\./ })
      .waitFor({ timeout: WAIT_MS });
    const radius = (await page.locator("#car-rollingRadiusM-from").textContent()) ?? "";
    expect(radius).toMatch(/^0\.\d{4} . 0\.\d{4} m, calibrated$/);
    // The whole drive fitted at once agrees with what was on the screen.
    expect(Math.abs(Number(radius.slice(0, 6)) - now.radiusM)).toBeLessThan(0.001);
    await visit.shot("calibrate-kept");
    const pressure = page.getByLabel("Pressure, kPa");
    await pressure.fill("210");
    await pressure.press("Tab");
    await page.locator("h1:visible", { hasText: "has changed since it was calibrated" }).waitFor();
    expect(await page.locator(".page.car .lead").first().textContent()).toMatch(/240.*210|pressure/i);
    await visit.shot("calibrate-stale-pressure");
    await pressure.fill("240");
    await pressure.press("Tab");
    await page.locator("h1:visible", { hasText: "known well enough" }).waitFor();
    await page.getByLabel("Tyres on the car").fill("winter set");
    await page.getByLabel("Tyres on the car").press("Tab");
    await page.locator("h1:visible", { hasText: "has changed since it was calibrated" }).waitFor();
    expect(visit.trouble).toEqual([]);
  });
});
