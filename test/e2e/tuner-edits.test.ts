/**
 * What stopped or misled a tuner who edits: Space after a click on a page's name, values and units at the cursor on a laptop's width, an
 * edit undone in one window while another window edits the same run, and a plan's fields that show another plan than the present one.
 */
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { addTimedRuns } from "../support/timed-book.ts";
import { browserPath, openBrowser } from "./support/browser.ts";
import { startVisit, type Visit } from "./support/visit.ts";

describe.skipIf(browserPath === null)("a tuner edits", () => {
  let browser: Browser;
  let visit: Visit;
  beforeAll(async () => {
    browser = await openBrowser();
    visit = await startVisit(browser, "simulated", {}, (book) => {
      addTimedRuns(
        book,
        Array.from({ length: 4 }, (_, i) => ({
          label: `traction control ${i % 2 === 0 ? "off" : "on"}`,
          seconds: 12 - (i % 2),
          rolling: [{ gate: "20.5-180 km/h", seconds: 22.345, wheelSeconds: 21.111 }],
        })),
      );
    });
    await visit.page.getByRole("button", { name: "I have read this" }).press("Enter");
  });
  afterAll(async () => {
    await visit?.end();
    await browser?.close();
    expect(visit.trouble).toEqual([]);
  });

  const open = async (page: Page, name: string) => {
    await page.getByRole("link", { name, exact: true }).click();
    await page.locator(`body[data-page=${name.toLowerCase()}]`).waitFor({ state: "attached" });
  };
  const pick = async (page: Page, tile: number) => {
    await page.locator(".tile").nth(tile).click();
    await page.locator(".runs h1", { hasText: new RegExp(`^Run ${tile + 1}, `) }).waitFor();
    await page.locator('.run-body[aria-busy="false"]').waitFor();
  };
  const answer = async (page: Page, key: string, text: string) => {
    await page.keyboard.press(key);
    await page.locator("dialog[open] input").fill(text);
    await page.keyboard.press("Enter");
  };
  const note = (page: Page, text: string) => page.locator(".run-aside li", { hasText: `Note: ${text}` }).waitFor();

  test("Space plays the run after a click on the page's name, as its button says", async () => {
    const { page } = visit;
    await open(page, "Runs");
    await page.locator(".tile").nth(3).waitFor();
    await page.locator('.run-body[aria-busy="false"]').waitFor();
    await page.keyboard.press("Space");
    await page.getByRole("button", { name: /^Pause/ }).waitFor();
    await page.keyboard.press("Space");
    await page.getByRole("button", { name: /^Play/ }).waitFor();
  });

  test("a note that Esc closed is offered as it was typed, and once answered no more", async () => {
    const { page } = visit;
    await pick(page, 0);
    const ask = async () => {
      await page.keyboard.press("n");
      await page.locator("dialog[open] input").waitFor();
    };
    const before = page.getByRole("button", { name: "As typed before: a dog ran out" });
    await ask();
    await page.locator("dialog[open] input").fill("a dog ran out");
    await page.keyboard.press("Escape");
    await page.locator("dialog[open]").waitFor({ state: "detached" });
    await ask();
    await before.click();
    expect(await page.locator("dialog[open] input").inputValue()).toBe("a dog ran out");
    await page.keyboard.press("Enter");
    await note(page, "a dog ran out");
    await ask();
    expect(await before.count()).toBe(0);
    await page.keyboard.press("Escape");
    await page.keyboard.press("Control+z");
    await page.locator(".run-aside li", { hasText: "Note: a dog ran out" }).waitFor({ state: "detached" });
  });

  test("no value and no unit at the cursor is cut at 1280 pixels, with a long further line and with a run laid over", async () => {
    const { page } = visit;
    const cut = () =>
      page.locator(".run-aside .values").evaluate((box) => {
        const right = box.getBoundingClientRect().left + box.clientWidth;
        return [...box.querySelectorAll("td, th")].filter((cell) => cell.getBoundingClientRect().right > right + 0.5).length;
      });
    await pick(page, 0);
    expect(await cut()).toBe(0);
    await page.keyboard.press("l");
    await page.keyboard.press("]");
    await page.locator(".runs h1", { hasText: "Run 2 is" }).waitFor();
    await page.locator(".readouts .under").first().waitFor();
    expect(await cut()).toBe(0);
    await page.keyboard.press("Shift+A");
    await page.locator(".further canvas").first().waitFor();
    expect(await cut()).toBe(0);
    expect(await page.locator(".run-aside .values").evaluate((box) => box.scrollWidth - box.clientWidth)).toBeLessThanOrEqual(0);
    await page.keyboard.press("a");
    await page.keyboard.press("l");
  });

  test("the ways of saving the figure open where the mouse can reach them, whatever row their button stands in", async () => {
    const { page } = visit;
    await pick(page, 0);
    for (const width of [1280, 1024, 853]) {
      await page.setViewportSize({ width, height: 720 });
      await page.getByRole("button", { name: /^Save/ }).first().click();
      const ways = page.locator(".runs .tools .chart-ways button");
      await ways.last().waitFor();
      for (const box of await ways.evaluateAll((all) => all.map((way) => way.getBoundingClientRect())))
        expect([width, box.left >= 0, box.right <= width]).toEqual([width, true, true]);
      await page.keyboard.press("Escape");
    }
    await page.setViewportSize({ width: 1280, height: 720 });
  });

  test("what was done and what was undone is named in the head, with its way forward", async () => {
    const { page } = visit;
    await pick(page, 0);
    const bar = page.locator(".undo-bar");
    await page.locator(".run-aside .flag").first().getByRole("button", { name: "Overrule" }).click();
    await page.locator("dialog[open] input").fill("level strip");
    await page.keyboard.press("Enter");
    await bar.getByText("Run 1: no return run overruled").waitFor();
    // Whole, at a laptop's width.
    const hidden = await bar
      .locator("span")
      .evaluate((words) => [words.scrollHeight - words.clientHeight, words.scrollWidth - words.clientWidth]);
    // Under half a line: the letters' own overhang.
    expect(Math.max(...hidden)).toBeLessThan(8);
    await open(page, "Compare");
    await page.keyboard.press("Control+z");
    await bar.getByText("Undone: Run 1: no return run overruled").waitFor();
    await bar.getByRole("button", { name: "Redo" }).click();
    await bar.getByText(/^Run 1: no return run overruled/).waitFor();
    // An edit from another page leaves the run that was picked.
    await open(page, "Runs");
    await page.locator(".runs h1", { hasText: /^Run 1, / }).waitFor();
    await page.locator(".run-aside .flag.overruled").waitFor();
    await page.keyboard.press("Control+z");
    await page.locator(".run-aside .flag:not(.overruled)").first().waitFor();
  });

  test("a flag overruled leaves the focus on the flag's own button", async () => {
    const { page } = visit;
    const flag = page.locator(".run-aside .flag").first();
    await flag.getByRole("button", { name: "Overrule" }).focus();
    await page.keyboard.press("Enter");
    await page.locator("dialog[open] input").fill("level strip");
    await page.keyboard.press("Enter");
    await page.locator(".run-aside .flag.overruled").waitFor();
    await page.waitForFunction(() => document.activeElement?.textContent === "Withdraw");
    await page.keyboard.press("Control+z");
    await page.locator(".run-aside .flag:not(.overruled)").first().waitFor();
  });

  test("two windows on one run: neither overwrites the other unasked, and each undoes its own edit alone", async () => {
    const { page } = visit;
    const other = await page.context().newPage();
    try {
      await other.goto(page.url());
      await other.locator("body[data-page]").waitFor({ state: "attached" });
      await pick(page, 1);
      await pick(other, 1);
      await page.keyboard.press("n");
      await page.locator("dialog[open] input").fill("gust");
      await answer(other, "n", "late start");
      await note(other, "late start");
      // It stands behind this window's question once it has come here.
      await note(page, "late start");
      await page.keyboard.press("Enter");
      await page.locator("dialog[open]", { hasText: "Another window wrote \u201clate start\u201d meanwhile" }).waitFor();
      expect(await page.locator("dialog[open] input").inputValue()).toBe("gust");
      await page.keyboard.press("Enter");
      await note(page, "gust");
      await note(other, "gust");
      // The notes are drawn anew behind a question about a flag: its button has the focus all the same.
      await page.locator(".run-aside .flag").first().getByRole("button", { name: "Overrule" }).press("Enter");
      await page.locator("dialog[open] input").waitFor();
      await answer(other, "n", "dust on the line");
      await note(page, "dust on the line");
      await page.keyboard.press("Escape");
      await page.waitForFunction(() => document.activeElement?.textContent === "Overrule");
      // Set aside there, undone here: the run stays aside.
      await answer(other, "x", "wheel on the grass");
      await page.locator(".runs h1", { hasText: "set aside" }).waitFor();
      await page.locator("body").press("Control+z");
      await page.locator(".undo-bar", { hasText: "Undone: Run 2 noted" }).waitFor();
      expect(await page.locator(".runs h1").textContent()).toContain("set aside");
      await other.locator("body").press("Control+z");
      await other.locator(".undo-bar", { hasText: "Undone: Run 2 set aside" }).waitFor();
    } finally {
      await other.close();
    }
  });

  test("a reload in the middle finds the run that was looked at", async () => {
    const { page } = visit;
    await open(page, "Runs");
    await page.locator(".tile").nth(3).waitFor();
    await pick(page, 2);
    await page.reload();
    await page.locator(".runs h1", { hasText: /^Run 3, / }).waitFor();
    await page.locator('.run-body[aria-busy="false"]').waitFor();
  });

  test("a changed plan that is undone takes its fields back with it, and what is wrong is said at the field and nowhere else", async () => {
    const { page } = visit;
    await open(page, "Plan");
    const [second, runs, hoped] = [
      page.getByLabel("Second group"),
      page.getByLabel("Runs a group"),
      page.getByLabel("Expected difference"),
    ];
    const draw = async () => {
      await page.locator("h1:visible").click();
      await page.keyboard.press("w");
    };
    const refused = (words: string) => page.locator(".plan-form .refused", { hasText: words }).waitFor();
    const use = async () => {
      await draw();
      await page.locator(".plan h1", { hasText: "Drawn at random" }).waitFor();
      await page.keyboard.press("Enter");
      await page.locator(".plan h1", { hasText: "Next: " }).waitFor();
    };
    await page.getByLabel("Usable length").fill("900");
    await page.getByRole("textbox", { name: /^Run-off/ }).fill("grass");
    await hoped.fill("x");
    await draw();
    await refused('Expected difference: expected seconds such as 0.1, at most 60; "x" stands there.');
    expect(await hoped.getAttribute("aria-invalid")).toBe("true");
    await hoped.fill("");
    await second.fill("traction control off");
    await draw();
    await refused("Groups: each needs a name of its own; two are the same.");
    expect(await page.locator("[aria-label=Notices] .bar").count()).toBe(0);
    await second.fill("traction control on");
    await runs.fill("");
    await draw();
    await refused("Fill in Runs a group: a whole number from 2 to 100.");
    await runs.fill("6");
    await use();
    await second.fill("map B");
    await runs.fill("5");
    await use();
    await page.locator(".plan .lead", { hasText: "5 runs a group" }).waitFor();
    await page.locator("h1:visible").click();
    await page.keyboard.press("Control+z");
    await page.locator(".plan .lead", { hasText: "6 runs a group" }).waitFor();
    expect([await second.inputValue(), await runs.inputValue()]).toEqual(["traction control on", "6"]);
  });
});
