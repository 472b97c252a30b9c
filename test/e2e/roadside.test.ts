/**
 * What misled a passenger beside the road, in Chromium: a key that pressed something else, a note that was lost silently, a button without
 * effect, a column cut off, a head that jumped.
 */
import type { Page } from "playwright-core";
import { describe, expect, test } from "vitest";
import { browserPath, WAIT_MS } from "./support/browser.ts";
import { useVisit } from "./support/visit.ts";

const go = async (page: Page, name: string) => {
  await page.evaluate((hash) => {
    window.location.hash = hash;
  }, name);
  // A key pressed before would be the other page's.
  await page.locator(`body[data-page=${name}]`).waitFor({ state: "attached" });
};
const loaded = (page: Page) => page.locator('.run-body[aria-busy="false"]').waitFor();
const tile = (page: Page, run: number) => page.getByRole("button", { name: new RegExp(`^Run\\s*${run}\\s*\\d`) });
const ask = async (page: Page, key: string, text: string) => {
  await page.keyboard.press(key);
  await page.locator("dialog[open] input").fill(text);
  await page.keyboard.press("Enter");
  await page.locator("dialog").waitFor({ state: "detached" });
};

describe.skipIf(browserPath === null)("a passenger beside the road, in Chromium", () => {
  const suite = useVisit("fake");

  test("Space plays, as Play says, although a run was pressed by finger before; one that Tab reached keeps its own Space", async () => {
    const { page } = suite.visit;
    await go(page, "runs");
    await loaded(page);
    await tile(page, 7).click();
    await page.locator("h1", { hasText: /^Run 7,/ }).waitFor();
    await loaded(page);
    const playing = page.locator(".player button", { hasText: "Pause" });
    await page.keyboard.press("Space");
    await playing.waitFor({ timeout: WAIT_MS });
    await page.keyboard.press("Space");
    await playing.waitFor({ state: "detached" });
    await page.keyboard.press("Tab");
    await page.keyboard.press("Space");
    await page.locator("h1", { hasText: /^Run 8,/ }).waitFor();
    expect(await playing.count()).toBe(0);
  });

  test("taking a run back says which note its reason takes the place of", async () => {
    const { page } = suite.visit;
    await go(page, "runs");
    await loaded(page);
    await ask(page, "n", "gust from the left");
    await ask(page, "x", "gust from the left");
    await page.locator(".run-aside button", { hasText: "Use again" }).waitFor();
    await page.keyboard.press("x");
    expect(await page.locator("dialog[open] label").textContent()).toBe("Why, in place of \u201cgust from the left\u201d");
    await suite.visit.shot("roadside-take-back");
    await page.keyboard.press("Enter");
    await page.locator(".run-aside button", { hasText: "Set aside" }).waitFor();
    await page.keyboard.press("Control+z");
    await page.locator(".run-aside button", { hasText: "Use again" }).waitFor();
  });

  test("a label that takes no further letter says so, a note takes ten times as many, and F1 tells what mouse and fingers do", async () => {
    const { page } = suite.visit;
    await go(page, "runs");
    await loaded(page);
    await page.keyboard.press("e");
    await page.locator("dialog[open] input").fill("");
    await page.keyboard.type("x".repeat(199));
    const said = page.locator("dialog[open] [role=status]");
    expect(await said.textContent()).toBe("");
    await page.keyboard.type("yz");
    expect(await said.textContent()).toBe("200 letters are the most that is kept.");
    expect(await page.locator("dialog[open] input").inputValue()).toBe(`${"x".repeat(199)}y`);
    await page.keyboard.press("Escape");
    await page.locator("dialog").waitFor({ state: "detached" });
    await page.keyboard.press("n");
    await page.locator("dialog[open] input").fill("");
    // Typed, as a filled field knows no bound.
    await page.keyboard.type("word ".repeat(50));
    expect((await page.locator("dialog[open] input").inputValue()).length).toBe(250);
    await page.keyboard.press("Enter");
    await page.locator("dialog").waitFor({ state: "detached" });
    await page.locator(".notes, .run-aside", { hasText: "word word" }).first().waitFor();
    await page.keyboard.press("Control+z");
    await page.keyboard.press("F1");
    expect(await page.locator("dialog[open]").textContent()).toContain("the wheel zooms where it points");
    await suite.visit.shot("roadside-f1");
    await page.keyboard.press("Escape");
    await page.locator("dialog").waitFor({ state: "detached" });
  });

  test("slip only is offered of one run, and not of two, where none is drawn", async () => {
    const { page } = suite.visit;
    await go(page, "runs");
    await loaded(page);
    const only = page.getByRole("button", { name: /^Slip only/ });
    await only.waitFor();
    await page.keyboard.press("l");
    await tile(page, 2).click();
    await page.locator("h1", { hasText: /ahead of|behind/ }).waitFor();
    expect(await only.count()).toBe(0);
    await page.keyboard.press("o");
    await page.locator("[role=status]", { hasText: "Slip only: of one run alone" }).waitFor({ state: "attached" });
    await page.keyboard.press("l");
    await only.waitFor();
    expect(await only.getAttribute("aria-pressed")).not.toBe("true");
  });

  test("the last column of the gates stands whole where times have two digits before the point and a bar scrolls them", async () => {
    const { page } = suite.visit;
    await page.setViewportSize({ width: 1280, height: 720 });
    await go(page, "runs");
    await loaded(page);
    const cut = await page.locator(".run-aside .values").evaluate((values: HTMLElement) => {
      // The bar of a laptop's browser is 15 px; this one draws none.
      values.style.marginRight = "15px";
      const name = values.querySelector(".gates .name");
      if (name !== null) name.textContent = "80\u2013120 km/h";
      for (const row of values.querySelectorAll(".gates tr:not(.heads, .quiet)"))
        for (const [at, text] of ["11.255", "\u00b1\u00a00.005", "10.502"].entries()) {
          const cell = row.querySelectorAll("td")[at];
          if (cell !== undefined) cell.textContent = text;
        }
      const over = values.scrollWidth - values.clientWidth;
      values.style.marginRight = "";
      return over;
    });
    expect(cut).toBe(0);
  });

  test("F1 keeps its place in the head in every scheme, beside the bar of a page that scrolls", async () => {
    const { page } = suite.visit;
    await page.setViewportSize({ width: 1265, height: 720 });
    await go(page, "runs");
    await loaded(page);
    const places: unknown[] = [];
    for (const scheme of ["day", "night", "sun"]) {
      while ((await page.evaluate(() => document.documentElement.dataset.scheme)) !== scheme) await page.keyboard.press("t");
      places.push(await page.locator(".to-keys").boundingBox());
      await suite.visit.shot(`roadside-head-${scheme}`);
    }
    expect(places[1]).toEqual(places[0]);
    expect(places[2]).toEqual(places[0]);
    while ((await page.evaluate(() => document.documentElement.dataset.scheme)) !== "day") await page.keyboard.press("t");
  });

  test("a window as narrow as a phone says where what it lacks is done", async () => {
    const { page } = suite.visit;
    await page.setViewportSize({ width: 390, height: 844 });
    await go(page, "runs");
    await loaded(page);
    await page.getByText("Label, note and set aside by key, or in a wider window").waitFor();
    await go(page, "drive");
    await page.locator(".plate[data-state=idle]").waitFor();
    await page.getByText("Arm and label by key, or in a wider window").waitFor();
    expect(await page.evaluate(() => document.documentElement.scrollHeight)).toBeLessThanOrEqual(844);
    await suite.visit.shot("roadside-phone");
    await page.setViewportSize({ width: 1280, height: 720 });
    await page.getByText("Arm and label by key, or in a wider window").waitFor({ state: "hidden" });
  });
});
