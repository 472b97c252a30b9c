/**
 * Several runs chosen among the tiles and edited as one: a label, a note, conditions under names of people's own, set aside; each undone as
 * one. Choosing with Ctrl and Shift as in lists of files (WAI-ARIA Authoring Practices 1.2, listbox, recommended selection model).
 */
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { addTimedRuns } from "../support/timed-book.ts";
import { browserPath, openBrowser } from "./support/browser.ts";
import { startVisit, type Visit } from "./support/visit.ts";

describe.skipIf(browserPath === null)("several runs are edited as one", () => {
  let browser: Browser;
  let visit: Visit;
  let page: Page;
  beforeAll(async () => {
    browser = await openBrowser();
    visit = await startVisit(browser, "simulated", {}, (book) => {
      addTimedRuns(
        book,
        Array.from({ length: 8 }, (_, i) => ({ label: i < 6 ? "" : "tight", seconds: 5 + i / 10 })),
      );
    });
    page = visit.page;
    await page.getByRole("button", { name: "I have read this" }).press("Enter");
    await page.getByRole("link", { name: "Runs", exact: true }).click();
    await page.locator(".tile").nth(7).waitFor();
    await page.locator('.run-body[aria-busy="false"]').waitFor();
  });
  afterAll(async () => {
    await visit?.end();
    await browser?.close();
    expect(visit.trouble).toEqual([]);
  });

  const tile = (run: number) => page.locator(".tile").nth(run - 1);
  const chosen = () =>
    page.locator(".tile").evaluateAll((tiles) => tiles.flatMap((each, i) => (each.getAttribute("aria-pressed") === "true" ? [i + 1] : [])));
  const bar = () => page.locator(".chosen-bar");
  const done = (words: string) => page.locator(".undo-bar", { hasText: words }).waitFor();
  const show = async (run: number) => {
    await tile(run).click();
    await page.locator(".runs h1", { hasText: new RegExp(`^Run ${run}, `) }).waitFor();
    await page.locator('.run-body[aria-busy="false"]').waitFor();
  };
  const noted = (words: string) => page.locator(".run-aside .notes li", { hasText: words });
  const end = async () => {
    await page.locator("h1:visible").click();
    await page.keyboard.press("Escape");
    await bar().waitFor({ state: "hidden" });
  };

  test("by key and by button, with Ctrl and with Shift; the run that is shown is one of them", async () => {
    await show(2);
    await tile(4).click({ modifiers: ["Control"] });
    expect(await chosen()).toEqual([2, 4]);
    await bar().getByText("2 runs chosen: 2 and 4.").waitFor();
    await tile(6).click({ modifiers: ["Shift"] });
    expect(await chosen()).toEqual([2, 4, 5, 6]);
    // A press alone now chooses, and shows no other run.
    await tile(5).click();
    expect(await chosen()).toEqual([2, 4, 6]);
    expect(await page.locator(".runs h1").textContent()).toMatch(/^Run 2, /);
    await page.locator("h1:visible").click();
    await page.keyboard.press("v");
    expect(await chosen()).toEqual([4, 6]);
    await page.keyboard.press("Shift+V");
    expect(await chosen()).toEqual([1, 2, 3, 4, 5, 6, 7, 8]);
    await page.keyboard.press("Shift+V");
    expect(await chosen()).toEqual([]);
    await page.keyboard.press("e");
    expect(await page.locator("dialog[open]").count()).toBe(0);
    await end();
    await page.getByRole("button", { name: /^Choose/ }).click();
    await tile(1).click();
    expect(await chosen()).toEqual([1]);
    await bar().getByRole("button", { name: /^Done/ }).click();
    await show(3);
  });

  test("one label for all of them, what it takes the place of is named, and one undo gives each its own back", async () => {
    await show(1);
    for (const run of [2, 7]) await tile(run).click({ modifiers: ["Control"] });
    await page.locator("h1:visible").click();
    await page.keyboard.press("e");
    await page.locator("dialog[open]", { hasText: "Label of 3 runs" }).waitFor();
    expect(await page.locator("dialog[open] label").textContent()).toBe("Label, in place of \u201ctight\u201d");
    await page.locator("dialog[open] input").fill("ramp 2");
    await page.keyboard.press("Enter");
    await done("3 runs labelled");
    await expect.poll(() => page.locator(".tile", { hasText: "ramp 2" }).count()).toBe(3);
    await page.keyboard.press("Control+z");
    await done("Undone: 3 runs labelled");
    await expect.poll(() => page.locator(".tile", { hasText: "ramp 2" }).count()).toBe(0);
    expect(await page.locator(".tile", { hasText: "tight" }).count()).toBe(2);
    await end();
  });

  test("conditions under names of one's own, for several runs, found again in the box of one and offered for the next", async () => {
    await show(1);
    await tile(3).click({ modifiers: ["Shift"] });
    await page.locator("h1:visible").click();
    await page.keyboard.press("c");
    const box = page.locator("dialog[open].conditions");
    await box.getByText("Conditions of 3 runs").waitFor();
    await box.getByLabel("Surface").fill("dry");
    const [name, value] = [box.getByLabel(/^Own condition/), box.getByLabel("Value", { exact: true })];
    // Names that stand for something else are refused at their line.
    for (const [typed, why] of [
      ["Surface", "a field of its own"],
      ["changed gain", "Gripbook\u2019s own"],
    ] as const) {
      await name.first().fill(typed);
      await value.first().fill("x");
      await box.getByRole("button", { name: "Keep" }).click();
      expect(await name.first().evaluate((input: HTMLInputElement) => input.validationMessage)).toContain(why);
    }
    await name.first().fill("slip target");
    await value.first().fill("8 %");
    await box.getByRole("button", { name: "Keep" }).click();
    await done("Conditions of 3 runs kept");
    await end();
    for (const run of [1, 2, 3]) {
      await show(run);
      await noted("Slip target: 8 %").waitFor();
      await noted("Surface: dry").waitFor();
    }
    // One of them differs from now on.
    await page.keyboard.press("c");
    await box.getByText("Conditions of run 3").waitFor();
    expect([await name.first().inputValue(), await value.first().inputValue()]).toEqual(["slip target", "8 %"]);
    await value.first().fill("6 %");
    await page.keyboard.press("Enter");
    await noted("Slip target: 6 %").waitFor();
    // The next run begins from this one, and says so.
    await show(4);
    await page.keyboard.press("c");
    await box.getByText("Filled in from run 3").waitFor();
    expect([await name.first().inputValue(), await value.first().inputValue()]).toEqual(["slip target", "6 %"]);
    await page.keyboard.press("Escape");
    // Together: what differs is told in its line, and stays.
    await show(1);
    await tile(3).click({ modifiers: ["Shift"] });
    await page.locator("h1:visible").click();
    await page.keyboard.press("c");
    await box.getByText("Conditions of 3 runs").waitFor();
    expect(await value.first().getAttribute("placeholder")).toBe("noted: \u201c8 %\u201d, \u201c6 %\u201d");
    await box.getByLabel("Surface").fill("damp");
    await page.keyboard.press("Enter");
    await done("Conditions of 3 runs kept");
    await noted("Surface: damp").waitFor();
    await noted("Slip target: 8 %").waitFor();
    await page.keyboard.press("Control+z");
    await done("Undone: Conditions of 3 runs kept");
    await end();
    // The page shows the run as it is read anew.
    await show(3);
    await noted("Surface: dry").waitFor();
    await noted("Slip target: 6 %").waitFor();
  });

  test("Find knows what was noted, as words and as the terms of Compare, and says what it cannot take", async () => {
    const find = async (words: string) => {
      await page.locator("h1:visible").click();
      await page.keyboard.press("f");
      await page.locator("dialog[open] input").fill(words);
      await page.keyboard.press("Enter");
    };
    const line = (text: string) => page.locator(".day-bar", { hasText: text });
    await find("surface dry");
    await line("3 of").waitFor();
    await find("slip target=8 %");
    await line("2 of").waitFor();
    await find("srface=wet");
    await page.getByText('No run has "srface"').waitFor();
    await page.locator("[aria-label=Notices] .bar button").first().click();
    await line("2 of").waitFor();
    await find("");
  });

  test("set aside with one reason, and used again", async () => {
    await show(4);
    await tile(5).click({ modifiers: ["Control"] });
    await page.locator("h1:visible").click();
    await page.keyboard.press("x");
    await page.locator("dialog[open]", { hasText: "Set aside 2 runs" }).waitFor();
    await page.keyboard.press("Enter");
    await page.locator("dialog[open]", { hasText: "set aside with a reason" }).waitFor();
    await page.locator("dialog[open] input").fill("rain");
    await page.keyboard.press("Enter");
    await done("2 runs set aside");
    await page.locator(".runs h1", { hasText: "set aside" }).waitFor();
    await page.getByRole("button", { name: /^Use again/ }).click();
    await page.locator("dialog[open]", { hasText: "Why, in place of \u201crain\u201d" }).waitFor();
    await page.locator("dialog[open] input").fill("dry again");
    await page.keyboard.press("Enter");
    await done("2 runs used again");
    await end();
  });
});
