/**
 * What a tuner does with stored runs, in Chromium over a real book by keyboard: the values at the cursor are those of the selected run, a
 * further line has its value there, two runs in one figure say where they are aligned and by how much one is ahead, and no run is set aside
 * without a reason. The runs are steady accelerations, so every expected figure is v = a t by hand.
 */
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { addTimedRuns } from "../support/timed-book.ts";
import { browserPath, openBrowser } from "./support/browser.ts";
import { startVisit, type Visit } from "./support/visit.ts";

/** The figure of a run of 6 s begins 0.3 s before movement and ends soon after the gate at 6 s. */
const NOTED = [
  { atS: -50.25, text: "gusts" },
  { atS: 1.5, text: "hop at the rear" },
  { atS: 24.3, text: "" },
];

describe.skipIf(browserPath === null)("a tuner reads the runs", () => {
  let browser: Browser;
  let visit: Visit;
  beforeAll(async () => {
    browser = await openBrowser();
    visit = await startVisit(browser, "simulated", { permissions: ["clipboard-read", "clipboard-write"] }, (book) => {
      addTimedRuns(book, [
        { label: "traction control off", seconds: 6, courseDeg: 74, noted: NOTED },
        { label: "traction control on", seconds: 5, courseDeg: 254 },
        ...Array.from({ length: 12 }, () => ({ label: "traction control on", seconds: 5.5 })),
      ]);
    });
    await visit.page.getByRole("button", { name: "I have read this" }).press("Enter");
    await visit.page.evaluate(() => {
      window.location.hash = "runs";
    });
    await visit.page.locator(".tile").nth(13).waitFor();
  });
  afterAll(async () => {
    await visit?.end();
    await browser?.close();
    expect(visit.trouble).toEqual([]);
  });

  const value = async (name: string) =>
    (await visit.page.locator(".readouts tr", { hasText: name }).first().locator("td").allTextContents()).map((text) => text.trim());
  const headed = (words: RegExp) => visit.page.locator(".runs h1", { hasText: words }).waitFor();
  const loaded = () => visit.page.locator('.run-body[aria-busy="false"]').waitFor();
  const pick = async (tile: number) => {
    await visit.page.locator(".tile").nth(tile).click();
    await loaded();
  };

  test("the values at the cursor are the picked run's, and the sentence says why it is flagged", async () => {
    const { page } = visit;
    for (const [tile, seconds] of [
      [0, 6],
      [1, 5],
    ] as const) {
      await pick(tile);
      await headed(new RegExp(`^Run ${tile + 1}, `));
      expect((await value("Ground"))[0]).toBe("0.0");
      await page.keyboard.press("Home");
      for (let i = 0; i < 13; i += 1) await page.keyboard.press("Shift+ArrowRight");
      // A second after movement: 26.8224 m/s in so many seconds, times 3.6.
      expect(Number((await value("Ground"))[0])).toBeCloseTo((26.8224 / seconds) * 3.6, 0);
    }
    await pick(0);
    await headed(/^Run 1, .*; flagged no return run\.$/);
  });

  test("numbers and times of the tiles never touch, and everything of a run stands on the screen at 1280 x 720", async () => {
    const { page } = visit;
    const gaps = await page.locator(".tile-head").evaluateAll((heads) =>
      heads.map((head) => {
        const [left, right] = [...head.children].map((part) => part.getBoundingClientRect());
        return (right?.left ?? 0) - (left?.right ?? 0);
      }),
    );
    expect(Math.min(...gaps)).toBeGreaterThanOrEqual(7);
    expect(await page.evaluate(() => document.documentElement.scrollHeight)).toBeLessThanOrEqual(720);
    // More tiles than the row holds scroll within it.
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(1280);
    // The gate that every run is named by is read without scrolling.
    // Which mark is which group stands over them.
    expect(await page.locator('.group-key li[data-mark="ring"]').textContent()).toBe("traction control off");
    expect(await page.locator('.group-key li[data-mark="disc"]').textContent()).toBe("traction control on");
    const row = await page.locator(".gates tr.head").boundingBox();
    const edits = await page.locator(".run-aside .edits").boundingBox();
    expect((row?.y ?? 999) + (row?.height ?? 0)).toBeLessThanOrEqual(edits?.y ?? 0);
  });

  test("a further line is read at the cursor, and goes back a step with Shift", async () => {
    const { page } = visit;
    await page.keyboard.press("a");
    await page.locator(".further", { hasText: "Slip speed, km/h" }).waitFor();
    await page.locator(".readouts tr", { hasText: "Slip speed" }).waitFor();
    await page.locator(".further-cursor").waitFor();
    await page.keyboard.press("Shift+A");
    await page.locator(".further").waitFor({ state: "hidden" });
    expect(await page.locator(".readouts tr:visible", { hasText: "Slip speed" }).count()).toBe(0);
  });

  test("two runs laid over each other say what to do, where they are aligned, both values and the seconds between", async () => {
    const { page } = visit;
    await pick(0);
    await page.keyboard.press("l");
    await headed(/^Run 1 stays: pick another run to lay over it\.$/);
    await pick(1);
    await headed(/^Run 2 is 1\.00 s ahead of run 1 at 60 mph\.$/);
    await page.locator(".tile.under", { hasText: "laid under" }).waitFor();
    await page.locator(".tools button", { hasText: "Align: start" }).waitFor();
    await page.keyboard.press("Home");
    for (let i = 0; i < 23; i += 1) await page.keyboard.press("Shift+ArrowRight");
    // Two seconds after movement, one at 38.6 km/h and the other, slower, at 32.2: it was there 0.4 s later.
    const [own, other] = await value("Ground");
    expect(Number(own)).toBeCloseTo((26.8224 / 5) * 2 * 3.6, 0);
    expect(Number(other)).toBeCloseTo((26.8224 / 6) * 2 * 3.6, 0);
    expect(Number((await value("Ahead"))[0])).toBeCloseTo(0.4, 2);
    // The key beside the figure is the figure's: solid is the run laid over, hollow the one under it, and no row says otherwise.
    const key = page.locator(".readouts tr:visible").first();
    expect(await key.locator("th", { hasText: "run 2" }).locator(".sample.solid").count()).toBe(1);
    expect(await key.locator("th", { hasText: "run 1" }).locator(".sample.hollow").count()).toBe(1);
    expect(await page.locator(".readouts th[scope=row] .sample:visible").count()).toBe(0);
    await visit.shot("tuner-overlay");
    await page.keyboard.press("y");
    await page.locator(".said", { hasText: "Copied" }).waitFor();
    const heads = (await page.evaluate(() => navigator.clipboard.readText())).split("\n")[0];
    expect(heads).toMatch(/run1GroundSpeedKmh \(km\/h\)\taheadOfRun1S \(s\)\tnoted$/);
    await page.keyboard.press("j");
    await headed(/^Run 2 over run 1, aligned at 60 mph, the last gate that both passed\.$/);
    await page.locator(".tools button", { hasText: "Align: 60 mph" }).waitFor();
    await page.keyboard.press("l");
    await headed(/^Run 2, traction control on/);
  });

  test("what was noted while driving stands with its run, and leads to its moment", async () => {
    const { page } = visit;
    await pick(0);
    await page.getByRole("button", { name: "Note at 1.50 s" }).click();
    // v = a t by hand: 26.8224 m/s in 6 s.
    expect(Number((await value("Ground"))[0])).toBeCloseTo((26.8224 / 6) * 1.5 * 3.6, 0);
    await page.locator(".run-aside li.moment", { hasText: "hop at the rear" }).waitFor();
    await visit.shot("tuner-moment");
    // What lies outside of the figure has no place there to lead to: the words alone.
    expect(await page.locator(".run-aside li.moment").allTextContents()).toEqual([
      "Note 50.25 s before the start: gusts",
      "Note at 1.50 s hop at the rear",
      "Marked at 24.30 s",
    ]);
    expect(await page.locator(".run-aside li.moment button").allTextContents()).toEqual(["Note at 1.50 s"]);
    await pick(1);
    expect(await page.locator(".run-aside li.moment").count()).toBe(0);
  });

  test("runs are found by words noted while driving; with none found the line says that the run below is not one of them", async () => {
    const { page } = visit;
    const find = async (words: string) => {
      await page.keyboard.press("f");
      await page.locator("dialog[open] input").fill(words);
      await page.keyboard.press("Enter");
    };
    await pick(1);
    await find("gusts");
    await page.locator(".day-bar", { hasText: "1 of 14 runs have \u201cgusts\u201d" }).waitFor();
    await headed(/^Run 1, /);
    await find("control on");
    await page.locator(".day-bar", { hasText: "13 of 14 runs have \u201ccontrol on\u201d" }).waitFor();
    await find("no such words");
    await page.locator(".day-bar", { hasText: /^0 of 14 runs have \u201cno such words\u201d; run \d+ below is not one of them/ }).waitFor();
    await visit.shot("tuner-none-found");
    await page.locator(".day-bar").getByRole("button", { name: "All runs" }).click();
    await page.locator(".tile").nth(13).waitFor();
  });

  test("no run is set aside without a reason: the dialog stays and says so, on Runs and on Compare", async () => {
    const { page } = visit;
    const refuses = async () => {
      await page.keyboard.press("x");
      await page.locator("dialog[open] input").waitFor();
      await page.keyboard.press("Enter");
      await page.locator("dialog[open] .reason", { hasText: "set aside with a reason" }).waitFor();
      await page.keyboard.press("Escape");
      await page.locator("dialog").waitFor({ state: "detached" });
    };
    await refuses();
    await page.evaluate(() => {
      window.location.hash = "compare";
    });
    await page.locator(".compare .chosen").waitFor();
    await page.keyboard.press("ArrowRight");
    await refuses();
    expect(await page.locator(".undo-bar").isVisible()).toBe(false);
  });

  test("gates of one's own stand beside the gate on Plan, and a refusal speaks of the fields", async () => {
    const { page } = visit;
    await page.evaluate(() => {
      window.location.hash = "plan";
    });
    await page.locator(".plan h1", { hasText: "No plan yet" }).waitFor();
    const box = await page.getByRole("button", { name: /^Own gates/ }).boundingBox();
    expect((box?.y ?? 999) + (box?.height ?? 999)).toBeLessThanOrEqual(720);
    await page.getByLabel("Charge min").fill("90");
    await page.getByLabel("max, %").fill("70");
    await page.getByLabel("Usable length").fill("900");
    await page.getByRole("textbox", { name: /^Run-off/ }).fill("grass");
    await page.locator("h1:visible").click();
    await page.keyboard.press("w");
    await page.locator(".plan-form .refused", { hasText: "Charge: the least must be lower than the most." }).waitFor();
    expect(await page.getByLabel("Charge min").getAttribute("aria-invalid")).toBe("true");
    expect(await page.getByLabel("Usable length").getAttribute("aria-invalid")).toBe("false");
  });
});
