/**
 * Every chart on every page is saved as PNG and SVG and its data copied, by keyboard, at a desk and in a phone's layout; and on Compare
 * verdict, figure and next step stay in the first view, however many warnings there are.
 */
import { readFileSync } from "node:fs";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { addPlannedDay } from "../support/planned-day.ts";
import { addTimedRuns } from "../support/timed-book.ts";
import { browserPath, openBrowser } from "./support/browser.ts";
import { startVisit, type Visit } from "./support/visit.ts";

/** Page, chart as its button names it, file name, a word in the drawing, the first columns of its data. */
const CHARTS = [
  ["compare", "every value", "every-value", "Seconds", /^What\tLabel\tRun\t0-60 mph from movement \(s\)\tCounted$/],
  [
    "compare",
    "the order driven",
    "order-driven",
    "4.5",
    /^Place in the order driven\tRun\tLabel\t0-60 mph from movement \(s\)\tDrift \(s a run\)/,
  ],
  [
    "compare",
    "slip and torque held back",
    "typical-prints",
    "Run",
    /^Time from movement \(s\)\tRun \d+, traction control \w+: slip \(km\/h\)\tRun \d+: held back \(Nm\)/,
  ],
  ["plan", "the plan", "plan", "12", /^Slot\tGroup\tDirection\tRun\t0-60 mph \(s\)$/],
  ["plan", "the ways of drawing", "ways-of-drawing", "2 in 380", /^Way of drawing\tOrders\tSmallest chance\tDrift cancelled, usual \(%\)/],
  ["report", "chosen on the left", "every-value", "Seconds", /^What\tLabel/],
  ["wiring", "the signals", "signals", "Motor speed", /^Time before now \(s\)\tMotor speed, MotorState\.MotorSpeed \((rpm|1\/min)\)/],
] as const;

const go = async (page: Page, name: string) => {
  await page.evaluate((hash) => {
    window.location.hash = hash;
  }, name);
  await page.locator(`body[data-page="${name}"]`).waitFor({ state: "attached" });
};
const READY: Readonly<Record<string, (page: Page) => Promise<unknown>>> = {
  compare: (page) => page.locator(".page.compare h1", { hasText: /quicker/ }).waitFor(),
  plan: (page) => page.locator(".choice", { hasText: "suggested" }).waitFor(),
  report: (page) => page.locator(".chart-choice option").nth(1).waitFor({ state: "attached" }),
  wiring: (page) =>
    page.waitForFunction(() =>
      [...document.querySelectorAll(".small-trace path")].some((path) => (path.getAttribute("d") ?? "").length > 40),
    ),
};

describe.skipIf(browserPath === null)("charts in Chromium", () => {
  let browser: Browser;
  let visit: Visit;
  beforeAll(async () => {
    browser = await openBrowser();
    visit = await startVisit(browser, "simulated", { acceptDownloads: true, permissions: ["clipboard-read", "clipboard-write"] }, (file) =>
      addPlannedDay(file, 12),
    );
    await visit.page.getByRole("button", { name: "I have read this" }).press("Enter");
    await visit.page.locator("body[data-page=runs]").waitFor({ state: "attached" });
  });
  afterAll(async () => {
    await visit?.end();
    await browser?.close();
  });

  const saved = async (page: Page, way: string) => {
    const [download] = await Promise.all([
      page.waitForEvent("download"),
      page.getByRole("button", { name: way, exact: true }).press("Enter"),
    ]);
    return { name: download.suggestedFilename(), bytes: readFileSync(await download.path()) };
  };

  test.each(CHARTS)("on %s, %s is saved as PNG and SVG and copied, and holds on a phone", async (name, what, file, word, head) => {
    const { page } = visit;
    await page.setViewportSize({ width: 1280, height: 720 });
    await go(page, name);
    await READY[name]?.(page);
    const open = page.getByRole("button", { name: new RegExp(`^Save the chart: ${what}$`) });
    await open.press("Enter");
    expect(await open.getAttribute("aria-expanded")).toBe("true");
    const svg = await saved(page, "SVG");
    expect(svg.name).toBe(`${file}.svg`);
    const text = svg.bytes.toString("utf8");
    expect(text).not.toMatch(/NaN|undefined|Infinity/);
    const words = await visit.alone(`chart-${name}-${file}.svg`, text);
    expect(words.join("\n")).toContain(word);
    // The title says what is shown where nothing else stands beside it.
    expect(text).toMatch(/<title>[^<]{12,}<\/title>/);
    const png = await saved(page, "PNG");
    expect(png.name).toBe(`${file}.png`);
    // PNG signature and width: W3C PNG, 5.2 and 11.2.1.
    expect([...png.bytes.subarray(0, 8)]).toEqual([137, 80, 78, 71, 13, 10, 26, 10]);
    expect(png.bytes.readUInt32BE(16)).toBeGreaterThanOrEqual(1800);
    const csv = await saved(page, "CSV");
    expect(csv.name).toBe(`${file}.csv`);
    await page.getByRole("button", { name: "Copy data", exact: true }).press("Enter");
    await page.getByRole("button", { name: "Copied", exact: true }).waitFor();
    // The same cells, by RFC 4180: lines end with CR LF, the last one too. What is live goes on between saving and copying: the values of its last line are among the copied, some time before the newest ones by then.
    const [lines, copied] = [csv.bytes.toString("utf8").split("\r\n"), await page.evaluate(() => navigator.clipboard.readText())];
    const isLive = name === "wiring";
    const valuesOf = (line: string) => line.split("\t").slice(1).join("\t");
    if (isLive) expect(copied.split("\n").map(valuesOf)).toContain(valuesOf(lines.at(-2)?.replaceAll(",", "\t") ?? ""));
    else expect(lines).toHaveLength(copied.split("\n").length + 1);
    const [first = "", ...rows] = (await page.evaluate(() => navigator.clipboard.readText())).split("\n");
    expect(first).toMatch(head);
    expect(rows.length).toBeGreaterThan(1);
    for (const row of rows) expect(row.split("\t")).toHaveLength(first.split("\t").length);
    await page.keyboard.press("Escape");
    expect(await open.getAttribute("aria-expanded")).toBe("false");
    expect(await page.evaluate(() => document.activeElement?.textContent)).toContain("Save");
    await page.setViewportSize({ width: 390, height: 844 });
    await open.click();
    await visit.shot(`chart-${name}-${file}-390`);
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(390);
    const box = await page.getByRole("button", { name: "Copy data", exact: true }).boundingBox();
    expect(box?.x).toBeGreaterThanOrEqual(0);
    expect((box?.x ?? 0) + (box?.width ?? 0)).toBeLessThanOrEqual(390);
    expect(box?.height).toBeGreaterThanOrEqual(44);
    await page.keyboard.press("Escape");
  });

  test("on Report any run's print is chosen and saved", async () => {
    const { page } = visit;
    await page.setViewportSize({ width: 1280, height: 720 });
    await go(page, "report");
    await READY.report?.(page);
    await page.getByLabel("One chart of it").selectOption("Print of run 3");
    await page.getByRole("button", { name: /^Save the chart: chosen/ }).press("Enter");
    const svg = await saved(page, "SVG");
    expect(svg.name).toBe("print-run-3.svg");
    expect(await visit.alone("chart-print.svg", svg.bytes.toString("utf8"))).toContain("1 s");
    await page.keyboard.press("Escape");
  });

  test("whatever speaks against it, verdict, figure and next step are in the first view; one key unfolds every warning", async () => {
    const { page } = visit;
    await go(page, "compare");
    await page.setViewportSize({ width: 1280, height: 720 });
    await READY.compare?.(page);
    for (const run of [1, 2, 4]) {
      for (let i = 0; i < 13 && !(await page.locator(".chosen").textContent())?.startsWith(`Run ${run},`); i += 1)
        await page.keyboard.press(i === 0 ? "ArrowLeft" : "ArrowRight");
      for (let i = 0; i < 13 && !(await page.locator(".chosen").textContent())?.startsWith(`Run ${run},`); i += 1)
        await page.keyboard.press("ArrowLeft");
      await page.keyboard.press("x");
      await page.locator("dialog[open] input").waitFor();
      await page.keyboard.type("gust of wind across the whole of the course, which the driver felt at once and the passenger wrote down");
      await page.keyboard.press("Enter");
      await page.locator(".undo-bar", { hasText: `Run ${run} set aside` }).waitFor();
    }
    await page.keyboard.press("w");
    // What was set aside for one reason after its time was seen is one warning, with its runs; others stand beside it.
    await page.locator(".compare .warnings li", { hasText: /Runs 1, 2 and 4 were set aside after .*gust of wind/ }).waitFor();
    const many = await page.locator(".compare .warnings li").count();
    expect(many).toBeGreaterThan(1);
    await visit.shot("compare-unfolded");
    await page.keyboard.press("w");
    expect(await page.locator(".compare .warnings li").count()).toBe(1);
    expect(await page.locator(".compare .fold button").textContent()).toBe(`All ${many} warningsW`);
    for (const part of [".page.compare h1", ".compare .strip", ".compare .hints"]) {
      const box = await page.locator(part).boundingBox();
      expect(box?.y, part).toBeGreaterThanOrEqual(0);
      expect((box?.y ?? 0) + (box?.height ?? 0), part).toBeLessThanOrEqual(720);
    }
    await visit.shot("compare-folded");
    expect(visit.trouble).toEqual([]);
  });

  test("on Plan, runs outside it are folded to the first: string, next slot and its button stay in the first view", async () => {
    const outside = Array.from({ length: 7 }, () => ({ label: "traction control off", seconds: 5.02, courseDeg: 74 }));
    const other = await startVisit(browser, "simulated", {}, (file) => {
      addPlannedDay(file, 4);
      addTimedRuns(file, outside, "outside");
    });
    const { page } = other;
    try {
      await page.getByRole("button", { name: "I have read this" }).press("Enter");
      await page.locator("body[data-page=runs]").waitFor({ state: "attached" });
      await go(page, "plan");
      await READY.plan?.(page);
      const fold = page.locator(".page.plan .fold");
      await fold.locator("button", { hasText: /^All \d notes/ }).waitFor();
      expect(await fold.locator("li").allTextContents()).toEqual([
        expect.stringMatching(/^Run 5 fills no slot: labelled "traction control off"/),
      ]);
      for (const part of [".page.plan h1", ".plan-string", ".page.plan .sentence .beside"]) {
        const box = await page.locator(part).boundingBox();
        expect((box?.y ?? 721) + (box?.height ?? 0), part).toBeLessThanOrEqual(720);
      }
      await other.shot("plan-folded");
      await page.keyboard.press("o");
      expect(await fold.locator("li").count()).toBeGreaterThan(5);
      await page.keyboard.press("o");
      expect(await fold.locator("li").count()).toBe(1);
      expect(other.trouble).toEqual([]);
    } finally {
      await other.end();
    }
  });
});
