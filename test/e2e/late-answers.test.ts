/**
 * Answers that take their time, held back by the test as long as it needs: until the new one is there, the old one is not taken for it, and one that
 * comes after its page was left opens nothing. The simulated day in real Chromium, over a core in the test's own process.
 */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, beforeEach, describe, expect, test } from "vitest";
import { composeScreens, hostClock } from "../../src/main/compose.ts";
import { makeFirstDay } from "../support/crowded-day.ts";
import { browserPath, openBrowser, WAIT_MS } from "./support/browser.ts";
import { type StagedPage, stagePage } from "./support/staged-page.ts";

const AGAIN = "Something changed: this is being worked out again.";
const WORKING = "Being worked out.";

describe.skipIf(browserPath === null)("late answers in Chromium", () => {
  const folder = mkdtempSync(join(tmpdir(), "gripbook-late-"));
  let browser: Browser;
  let staged: StagedPage;
  let page: Page;
  let core: ReturnType<typeof composeScreens>["core"];
  /** Answers to this request wait. */
  let held: { readonly name: string; readonly until: Promise<void> } | null = null;
  let release: () => void = () => undefined;
  /** What is made of the answers of Time lost. */
  let asTold = (answer: unknown) => answer;

  const hold = (name: string) => {
    held = {
      name,
      until: new Promise((done) => {
        release = done;
      }),
    };
  };
  const letGo = () => {
    held = null;
    release();
  };
  const go = async (name: string) => {
    await page.evaluate((hash) => {
      window.location.hash = hash;
    }, name);
    await page.locator(`body[data-page="${name}"]`).waitFor({ state: "attached" });
  };
  /** The page reads the book again, as after a run or an edit. */
  const change = () => staged.tell({ event: "notice", key: "link", text: null });
  const lead = () => page.locator(".page.lost .lead");
  const hints = () => page.locator(".page.compare .hints");

  beforeAll(async () => {
    const file = join(folder, "day.gripbook");
    makeFirstDay(file);
    core = composeScreens({ bookFile: file, setUpFile: null, emit: () => undefined, rememberFile: null, clock: hostClock() }).core;
    browser = await openBrowser();
    const ask = async (name: string, argument: unknown) => {
      const answer = await core.request(name as never, argument as never);
      if (held?.name === name) await held.until;
      return name === "tune.read" ? asTold(answer) : answer;
    };
    staged = await stagePage(browser, ask, async () => "");
    page = staged.page;
    await page.getByRole("button", { name: "I have read this" }).click();
  });
  beforeEach(async () => {
    letGo();
    asTold = (answer) => answer;
    await staged.settled();
  });
  afterAll(async () => {
    await browser?.close();
    await core?.close();
    rmSync(folder, { recursive: true, force: true });
    expect(staged?.trouble ?? []).toEqual([]);
  });

  test("Time lost says that it is worked out again, and draws up no test of old advice", async () => {
    await go("lost");
    await lead().filter({ hasText: "driven on average" }).waitFor({ timeout: WAIT_MS });
    hold("tune.read");
    // Another size changes nothing of it.
    const resized = await page.evaluate(() => {
      window.dispatchEvent(new Event("resize"));
      return document.querySelector(".page.lost .lead")?.textContent;
    });
    expect(resized).toContain("driven on average");
    await change();
    await lead().filter({ hasText: AGAIN }).waitFor();
    await page.keyboard.press("1");
    await page.locator("[role=status]", { hasText: AGAIN }).waitFor({ state: "attached" });
    await page.locator(".page.lost .advice button").first().click();
    expect(await page.evaluate(() => window.location.hash)).toBe("#lost");
    letGo();
    await lead().filter({ hasText: "driven on average" }).waitFor();
    await page.keyboard.press("1");
    await page.locator('body[data-page="plan"]').waitFor({ state: "attached" });
  });

  test("so it does where something changed while another page was shown", async () => {
    await go("lost");
    await lead().filter({ hasText: "driven on average" }).waitFor({ timeout: WAIT_MS });
    await go("runs");
    await staged.settled();
    hold("tune.read");
    await change();
    await staged.settled();
    await go("lost");
    await lead().filter({ hasText: AGAIN }).waitFor();
    letGo();
    await lead().filter({ hasText: "driven on average" }).waitFor();
  });

  test("Compare's hint is not the old one meanwhile, and is never empty", async () => {
    await go("compare");
    await hints().filter({ hasText: "More slip" }).waitFor({ timeout: WAIT_MS });
    hold("tune.read");
    await change();
    await hints().filter({ hasText: WORKING }).waitFor();
    expect(await hints().textContent()).toBe(WORKING);
    letGo();
    await hints().filter({ hasText: "More slip" }).waitFor();
    await go("runs");
    await staged.settled();
    hold("tune.read");
    await change();
    await go("compare");
    await hints().filter({ hasText: WORKING }).waitFor();
    asTold = (answer) => ({ ...(answer as object), advice: [], silent: [] });
    letGo();
    await hints().filter({ hasText: "No advice yet: Time lost says what would help." }).waitFor();
  });

  test("Time lost is of the runs chosen on Compare, and says so", async () => {
    const choose = async (terms: string) => {
      await go("compare");
      await page.keyboard.press("o");
      await page.locator("dialog input").fill(terms);
      await page.keyboard.press("Enter");
      await page.locator("dialog").waitFor({ state: "detached" });
      await go("lost");
    };
    await go("lost");
    await lead().filter({ hasText: "driven on average" }).waitFor({ timeout: WAIT_MS });
    const whole = await lead().textContent();
    hold("tune.read");
    await choose("run=1-6");
    await lead().filter({ hasText: AGAIN }).waitFor();
    letGo();
    await lead().filter({ hasText: "Only runs with run=1-6, as on Compare." }).waitFor({ timeout: WAIT_MS });
    await choose("");
    await lead().filter({ hasText: "driven on average" }).filter({ hasNotText: "Only runs" }).waitFor({ timeout: WAIT_MS });
    expect(await lead().textContent()).toBe(whole);
  });

  test("no run's figures stand under another run's headline, nor are they saved under its name", async () => {
    const figures = page.locator(".runs .run-body .gates");
    await go("runs");
    await page.locator(".tile").first().click();
    await page.locator('.run-body[aria-busy="false"]').waitFor();
    await figures.waitFor();
    hold("run.columns");
    await page.keyboard.press("]");
    await page.locator(".runs h1", { hasText: /^Run 2, / }).waitFor();
    await figures.waitFor({ state: "hidden" });
    await page.locator(".figure-box").waitFor({ state: "hidden" });
    await page.getByText("Reading run 2").waitFor();
    for (const key of ["y", "s", "Shift+S"]) {
      await page.keyboard.press(key);
      const bar = page.locator("[aria-label=Notices] .bar", { hasText: "There is nothing in this chart yet" });
      await bar.waitFor();
      await bar.getByRole("button").first().click();
      await bar.waitFor({ state: "detached" });
    }
    letGo();
    await figures.waitFor();
    await page.getByText("Reading run 2").waitFor({ state: "hidden" });
  });

  test("one run's time lost that comes after its page or its run was left opens nothing", async () => {
    const boxes = () => page.locator("dialog.lost-of-run").count();
    await go("runs");
    await page.locator(".runs .run-body:not([aria-busy=true])").waitFor();
    await staged.settled();
    hold("tune.run");
    await page.keyboard.press("k");
    await go("plan");
    letGo();
    await staged.settled();
    expect(await boxes()).toBe(0);
    await go("runs");
    await staged.settled();
    hold("tune.run");
    await page.keyboard.press("k");
    await page.locator(".tile").first().click();
    letGo();
    await staged.settled();
    expect(await boxes()).toBe(0);
    await page.keyboard.press("k");
    await page.locator("dialog.lost-of-run[open] p.lead", { hasText: /^Run 1 loses/ }).waitFor();
    await page.keyboard.press("Escape");
  });
});
