/**
 * A box that a launch closes keeps what was written in it: nothing is said during the launch, once after it, and the box opens with it again.
 * Esc over an open box disarms, and says so. Over a made-up car whose states stand until it is told to go on.
 */
import type { Page } from "playwright-core";
import { beforeAll, describe, expect, test } from "vitest";
import { browserPath } from "./support/browser.ts";
import { useVisit } from "./support/visit.ts";

const plate = (page: Page, state: string) => page.locator(`.plate[data-state=${state}]`).waitFor();
const quiet = (page: Page, words: string) => page.locator(".foot .next .quiet").getByText(words, { exact: true }).waitFor();
const field = (page: Page) => page.locator("dialog[open] input");
/** What is in the field, and how much of it the next letter replaces. */
const written = (page: Page) =>
  field(page).evaluate((input: HTMLInputElement) => [input.value, input.value.slice(input.selectionStart ?? 0, input.selectionEnd ?? 0)]);

describe.skipIf(browserPath === null)("a box over Drive, in Chromium", () => {
  const suite = useVisit("fake");
  const tell = (note: string) => suite.visit.running.core.request("drive.mark", { note });
  beforeAll(async () => {
    const { page } = suite.visit;
    await page.getByRole("button", { name: "I have read this" }).press("Enter");
    await tell("stay");
    await page.evaluate(() => {
      window.location.hash = "drive";
    });
    await plate(page, "idle");
  });

  test.each([
    ["n", "gust from the l", "Note not finished: N goes on with it"],
    ["e", "soft map, ru", "Label not finished: E goes on with it"],
  ])("what %s opened and a launch closed is there again after it", async (key, typed, words) => {
    const { page } = suite.visit;
    await page.keyboard.press("Space");
    await plate(page, "armed");
    await page.keyboard.press(key);
    await field(page).fill(typed);
    for (const next of ["standing", "launched"]) {
      await tell("go on");
      await plate(page, next);
    }
    await page.locator("dialog").waitFor({ state: "detached" });
    await quiet(page, "Only Esc acts now");
    expect(await page.locator("[role=status]", { hasText: "not finished" }).count()).toBe(0);
    await tell("go on");
    await plate(page, "done");
    await quiet(page, words);
    await suite.visit.shot(`half-written-${key}`);
    await page.keyboard.press(key);
    expect(await written(page)).toEqual([typed, typed]);
    await page.keyboard.press("End");
    await page.keyboard.type("ight");
    await page.keyboard.press("Enter");
    await quiet(page, key === "n" ? "Note kept" : `Next run: ${typed}ight`);
    // Kept once: the next box is a new one.
    await page.keyboard.press(key);
    expect(await written(page)).toEqual(key === "n" ? ["", ""] : [`${typed}ight`, `${typed}ight`]);
    await page.keyboard.press("Escape");
    await plate(page, "idle");
  });

  test("Esc that disarms says so, with a box open over the page and without, and so does the button", async () => {
    const { page } = suite.visit;
    for (const disarm of [
      async () => {
        await page.keyboard.press("n");
        await field(page).waitFor();
        await page.keyboard.press("Escape");
      },
      () => page.keyboard.press("Escape"),
      () => page.getByRole("button", { name: /^Abort/ }).click(),
    ]) {
      await page.keyboard.press("Space");
      await plate(page, "armed");
      // The answer to the key before gives way.
      await page.keyboard.press("m");
      await quiet(page, "Marked");
      await disarm();
      await plate(page, "idle");
      await quiet(page, "Disarmed");
    }
  });
});
