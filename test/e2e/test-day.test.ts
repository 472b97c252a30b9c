/**
 * The whole test day with the embedded simulated car at real pace, by keyboard alone: the first day of twelve runs, a launch seen live, labelled,
 * noted, set aside, undone and redone, replayed, saved, laid over another, compared and reported. Pictures:
 * support/pictures.ts.
 */
import { readFileSync } from "node:fs";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { browserPath, openBrowser, PAPER_WAIT_MS, WAIT_MS } from "./support/browser.ts";
import { startVisit, type Visit } from "./support/visit.ts";

const PAGES = ["car", "wiring", "before", "drive", "runs", "compare", "lost", "plan", "report"] as const;
const to = async (page: Page, name: (typeof PAGES)[number]) => {
  await page.keyboard.press(`Control+${PAGES.indexOf(name) + 1}`);
  await page.locator(`body[data-page="${name}"]`).waitFor({ state: "attached" });
};
const headed = (page: Page, words: RegExp, timeout = WAIT_MS) => page.locator("h1:visible", { hasText: words }).waitFor({ timeout });
/** The figure and its values are the picked run's. */
const loaded = (page: Page) => page.locator('.run-body[aria-busy="false"]').waitFor();
const done = (page: Page, words: string) => page.locator(".undo-bar", { hasText: words }).waitFor();
const answer = async (page: Page, text: string) => {
  await page.locator("dialog[open] input").first().waitFor();
  await page.keyboard.press("Control+A");
  await page.keyboard.type(text);
  await page.keyboard.press("Enter");
  // Its field takes the keys until it is gone.
  await page.locator("dialog").waitFor({ state: "detached" });
};
describe.skipIf(browserPath === null)("a test day in Chromium", () => {
  let browser: Browser;
  let visit: Visit;
  beforeAll(async () => {
    browser = await openBrowser();
    visit = await startVisit(browser, "simulated", { acceptDownloads: true, permissions: ["clipboard-read", "clipboard-write"] });
  });
  afterAll(async () => {
    await visit?.end();
    await browser?.close();
  });

  test("first start fills the book with a day of twelve runs, six of each setting, every one with its time", async () => {
    const { page } = visit;
    for (let i = 0; i < 4; i += 1) {
      await page.keyboard.press("Tab");
      if ((await page.evaluate(() => document.activeElement?.textContent)) === "I have read this") break;
    }
    await page.keyboard.press("Enter");
    await page.locator(".bar[data-key=cautions]").waitFor({ state: "detached" });
    // Meanwhile a rod says how far the day is.
    const rod = page.locator("body > .work progress");
    await page.locator("body > .work", { hasText: /simulated day/ }).waitFor();
    const early = await rod.evaluate((bar) => (bar as HTMLProgressElement).value);
    await page.waitForFunction(
      (was) => (document.querySelector<HTMLProgressElement>("body > .work progress")?.value ?? 0) > was + 0.1,
      early,
    );
    await visit.shot("first-day-rod");
    await page.locator(".tile").nth(11).waitFor({ timeout: WAIT_MS });
    await page.locator("body > .work").waitFor({ state: "hidden" });
    const words = await page.locator(".tile").allTextContents();
    expect(words).toHaveLength(12);
    expect(words.filter((tile) => tile.includes("traction control on"))).toHaveLength(6);
    expect(words.filter((tile) => tile.includes("traction control off"))).toHaveLength(6);
    for (const tile of words) expect(tile).toMatch(/Run \d+\d\.\d\d seconds to 60 mph/);
  });

  test("a launch is seen live: ready, a countdown when asked for, launched, gates in big digits, stored, armed again by itself", async () => {
    const { page } = visit;
    await to(page, "drive");
    await page.locator(".plate[data-state=idle]").waitFor();
    const frozen = page.locator(".bar[data-key=freeze]");
    for (let tries = 0; tries < 10; tries += 1) {
      // Frozen while the receiver is not heard, as on a busy machine, the view would stand still without a receiver to arm with.
      await page.locator('.foot .main:not([aria-disabled="true"])').waitFor({ timeout: WAIT_MS });
      await page.keyboard.press("z");
      await frozen.waitFor();
      if ((await page.locator('.foot .main:not([aria-disabled="true"])').count()) > 0) break;
      await page.keyboard.press("z");
      await frozen.waitFor({ state: "detached" });
    }
    expect(await frozen.count()).toBe(1);
    await page.keyboard.press("Space");
    // A change of state ends the freeze: nobody looks at a still picture of another state.
    await frozen.waitFor({ state: "detached" });
    await page.locator(".plate[data-state=standing]").waitFor({ timeout: WAIT_MS });
    expect(await page.locator(".hero .text").textContent()).toBe("Ready");
    await visit.shot("live-standing");
    await page.keyboard.press("c");
    await page.locator(".hero p", { hasText: "Countdown, this run only" }).waitFor();
    await page.locator(".plate[data-state=launched]").waitFor({ timeout: WAIT_MS });
    await page.waitForFunction(() => document.querySelector(".hero p")?.textContent === "60 mph", undefined, { timeout: WAIT_MS });
    const live = Number(await page.locator(".hero .text").textContent());
    await visit.shot("live-60-mph");
    await page.locator(".plate[data-state=armed]").waitFor({ timeout: WAIT_MS });
    // While the run is being stored, and before any launch, no figure stands there.
    await page.waitForFunction(
      () =>
        document.querySelector(".plate[data-state=armed]") !== null &&
        /^\d+\.\d+$/.test(document.querySelector(".hero .text")?.textContent ?? ""),
      undefined,
      { timeout: WAIT_MS },
    );
    await visit.shot("live-stored");
    const stored = Number(await page.locator(".hero .text").textContent());
    // The live figure was read after it had settled, so both are the same launch through the same smoother.
    expect(Math.abs(stored - live)).toBeLessThan(0.02);
    await page.keyboard.press("Escape");
    await page.locator(".plate[data-state=idle]").waitFor();
  });

  test("the same launch is replayed, labelled, noted, given its conditions, set aside, undone and redone", async () => {
    const { page } = visit;
    await page.keyboard.press("l");
    await headed(page, /^Run 13, traction control/);
    await loaded(page);
    expect(await page.locator(".gates tr.head").textContent()).toMatch(/\d\.\d{3}\u00b1\u00a00\.\d{3}/);
    await page.keyboard.press("5");
    await page.keyboard.press("Home");
    await page.keyboard.press("Space");
    await page.waitForFunction(() => Number(document.querySelector(".scrubber")?.getAttribute("aria-valuenow")) > 1.5);
    await page.waitForFunction(() => document.querySelector(".player button span")?.textContent === "Play", undefined, {
      timeout: WAIT_MS,
    });
    await page.keyboard.press("e");
    await answer(page, "softer start");
    await headed(page, /^Run 13, softer start/);
    await page.keyboard.press("Control+z");
    await headed(page, /^Run 13, traction control/);
    await page.keyboard.press("Control+Shift+Z");
    await headed(page, /^Run 13, softer start/);
    await page.keyboard.press("Control+z");
    await headed(page, /^Run 13, traction control/);
    await page.keyboard.press("n");
    await answer(page, "tail wind at the end");
    await page.locator(".notes", { hasText: "Note: tail wind at the end" }).waitFor();
    await page.keyboard.press("c");
    await page.locator("dialog.conditions").waitFor();
    await page.keyboard.type("dry");
    await page.keyboard.press("Tab");
    await page.keyboard.type("17 °C");
    // Eight more fields, and two own conditions with their values.
    for (let i = 0; i < 13; i += 1) await page.keyboard.press("Tab");
    for (const part of ["slip target", "8", "6", "%"]) {
      await page.keyboard.type(part);
      await page.keyboard.press("Tab");
    }
    await visit.shot("runs-conditions");
    await page.keyboard.press("Enter");
    for (const words of ["Surface: dry", "Air: 17 °C", "Changed slip target: 8 → 6 %"])
      await page.locator(".notes", { hasText: words }).waitFor();
    await page.keyboard.press("x");
    await answer(page, "spoiled by a bird");
    await headed(page, /set aside/);
    await done(page, "Run 13 set aside");
    await page.keyboard.press("Control+z");
    await page.waitForFunction(() => !document.querySelector("h1")?.textContent?.includes("set aside"));
  });

  test("a run is laid over another, aligned at a gate, saved as PNG and SVG, and its data copied", async () => {
    const { page } = visit;
    for (let i = 0; i < 12; i += 1) await page.keyboard.press("[");
    await headed(page, /^Run 1,/);
    await loaded(page);
    await page.keyboard.press("a");
    const saved = async (key: string, name: string) => {
      const [download] = await Promise.all([page.waitForEvent("download"), page.keyboard.press(key)]);
      expect(download.suggestedFilename()).toBe(name);
      return readFileSync(await download.path());
    };
    // PNG signature: W3C PNG, 5.2.
    expect([...(await saved("s", "run-1.png")).subarray(0, 8)]).toEqual([137, 80, 78, 71, 13, 10, 26, 10]);
    const svg = (await saved("Shift+S", "run-1.svg")).toString("utf8");
    expect(svg).not.toMatch(/NaN|undefined/);
    // A fault in its XML would make the browser show an error instead of the drawing.
    const words = await visit.alone("run-1.svg", svg);
    expect(words).toEqual(expect.arrayContaining(["Speed, km/h", "Motor torque, Nm", "60 ft", "Slip speed, km/h"]));
    await page.keyboard.press("l");
    await page.keyboard.press("]");
    await headed(page, /^Run 2 is \d\.\d\d s (ahead of|behind) run 1 at 60 mph/);
    await page.keyboard.press("j");
    await page.locator("[role=status]", { hasText: /^Aligned at / }).waitFor({ state: "attached" });
    await visit.shot("runs-overlay-aligned");
    await page.keyboard.press("y");
    await page.locator("[role=status]", { hasText: "Copied" }).waitFor({ state: "attached" });
    const copied = await page.evaluate(() => navigator.clipboard.readText());
    expect(copied.split("\n")[0]).toContain("timeS (s)\tgroundSpeedKmh (km/h)");
    await page.keyboard.press("l");
    await headed(page, /^Run 2, traction control/);
  });

  test("both settings are compared, a run set aside there and used again, and the day is on the report", async () => {
    const { page } = visit;
    await to(page, "compare");
    await headed(page, /^Traction control on is \d\.\d\d s quicker than .*0–60 mph\.$/);
    await page.keyboard.press("ArrowRight");
    await page.keyboard.press("x");
    await answer(page, "cold tyres");
    await page.locator(".undo-bar", { hasText: /Run \d+ set aside/ }).waitFor();
    // Several sentences speak against it: one key unfolds them.
    await page.keyboard.press("w");
    await page.locator(".warnings", { hasText: "cold tyres" }).waitFor();
    await page.keyboard.press("Control+z");
    await page.waitForFunction(() => !document.querySelector(".warnings")?.textContent?.includes("cold tyres"));
    // The report compares the gate that Compare showed last, on the screen and on paper, and says so.
    await page.keyboard.press("g");
    const announced = page.locator("[role=status].out-of-sight", { hasText: / from (movement|1 ft|entry)$/ });
    await announced.waitFor({ state: "attached" });
    const asked = (await announced.textContent()) ?? "";
    const verdict = (await page.locator(".page.compare h1").textContent()) ?? "";
    // While it is being written its frame is empty, and says so.
    let write = (): void => undefined;
    const written = new Promise<void>((done) => {
      write = done;
    });
    await page.route(/\/report\?/, async (route) => {
      await written;
      await route.continue();
    });
    await page.keyboard.press("p");
    await page.locator("iframe.report-preview[src]").waitFor();
    await page.locator(".page.report .lead", { hasText: "It is being written" }).waitFor();
    write();
    await page.locator(".page.report .lead", { hasText: `As on Compare: ${asked}.` }).waitFor({ timeout: PAPER_WAIT_MS });
    await page.locator(`iframe.report-preview[src*="start=${asked.split(" from ")[1]?.replace(" ", "+")}"]`).waitFor();
    const paper = page.frameLocator("iframe.report-preview").locator("h1");
    await paper.waitFor();
    const seconds = /\d+\.\d\d s/;
    expect(seconds.exec((await paper.textContent()) ?? "")?.[0]).toBe(seconds.exec(verdict)?.[0]);
    await page.locator('body[data-page="report"]').waitFor({ state: "attached" });
    expect(await page.frameLocator("iframe.report-preview").locator("h1").textContent({ timeout: WAIT_MS })).toContain("quicker");
    await page.frameLocator("iframe.report-preview").locator("body", { hasText: "tail wind at the end" }).waitFor();
    expect(visit.trouble).toEqual([]);
  });
});
