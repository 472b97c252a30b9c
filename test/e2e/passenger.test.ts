/**
 * What stopped a passenger who had never seen the program, in Chromium: an open question when the car launches, a missing reason, words
 * that name another switch, notices that push the abort off the screen, and a view without keys. Sizes after docs/look.md: 76 px for a
 * glove, cap height 13 mm in the large figure.
 */
import type { Page } from "playwright-core";
import { describe, expect, test } from "vitest";
import { armByKey } from "./support/arm.ts";
import { browserPath, WAIT_MS } from "./support/browser.ts";
import { startVisit, useVisit } from "./support/visit.ts";

const go = async (page: Page, name: string) => {
  await page.evaluate((hash) => {
    window.location.hash = hash;
  }, name);
  // A key pressed before would be the other page's.
  await page.locator(`body[data-page=${name}]`).waitFor({ state: "attached" });
};
const plate = (page: Page, state: string) => page.locator(`.plate[data-state=${state}]`).waitFor({ timeout: WAIT_MS });

describe.skipIf(browserPath === null)("a passenger's first drive, in Chromium", () => {
  const suite = useVisit("fake");

  test("a question left open gives way to the launch, and Esc aborts it at once; on another page one Esc closes and aborts", async () => {
    const { page } = suite.visit;
    await go(page, "drive");
    await plate(page, "idle");
    await page.keyboard.press("Space");
    await plate(page, "standing");
    await page.keyboard.press("e");
    await page.locator("dialog[open]").waitFor();
    await page.keyboard.type(" half");
    await plate(page, "launched");
    expect(await page.locator("dialog[open]").count()).toBe(0);
    await page.keyboard.press("Escape");
    await plate(page, "aborted");

    await page.keyboard.press("Space");
    await plate(page, "standing");
    await go(page, "before");
    await page.keyboard.press("F1");
    await page.locator("dialog.keys").waitFor();
    await page.locator("[role=status]", { hasText: /^Launched$/ }).waitFor({ state: "attached" });
    await page.keyboard.press("Escape");
    await page.locator("dialog.keys").waitFor({ state: "detached" });
    await go(page, "drive");
    await plate(page, "aborted");
  });

  test("overruling without a reason asks for it in the same place, and loses no key to the page", async () => {
    const { page } = suite.visit;
    await go(page, "before");
    const battery = page.locator(".check", { hasText: "Laptop battery" });
    await battery.getByRole("button", { name: "Overrule" }).click();
    await page.keyboard.press("Enter");
    const dialog = page.locator("dialog[open]");
    expect(await dialog.getByRole("alert").textContent()).toBe("Write why you drive all the same.");
    await suite.visit.shot("overrule-needs-why");
    await page.keyboard.type("at the tent");
    expect(await page.evaluate(() => [document.body.dataset.page, document.documentElement.dataset.scheme])).toEqual(["before", "day"]);
    await page.keyboard.press("Enter");
    await battery.and(page.locator(".overruled")).waitFor();
    expect(await battery.textContent()).toContain("at the tent");
    await battery.getByRole("button", { name: "Withdraw" }).click();
    await battery.and(page.locator(".wrong")).waitFor();
    await battery.getByRole("button", { name: "Overrule" }).click();
    await page.keyboard.press("Escape");
    await dialog.waitFor({ state: "detached" });
  });

  test.each([
    [1280, 720],
    [1920, 1080],
  ])("two notices and four lines of words at once keep the whole view, and the abort, on a screen of %i x %i", async (width, height) => {
    const { page } = suite.visit;
    await page.setViewportSize({ width, height });
    await go(page, "drive");
    await page.keyboard.press("Escape");
    await plate(page, "idle");
    const measure = (bars: number, lines: number, state: string) =>
      page.evaluate(
        async ([wanted, of, shown]) => {
          const region = document.querySelector("[aria-label=Notices]");
          const next = document.querySelector<HTMLElement>(".foot .next");
          const hero = document.querySelector(".hero .text");
          const button = document.querySelector(".foot .main");
          if (region === null || next === null || hero === null || button === null) throw new TypeError("no passenger's view");
          for (const bar of region.querySelectorAll(".trial")) bar.remove();
          for (let at = 0; at < Number(wanted); at += 1) {
            const bar = document.createElement("div");
            bar.className = "bar trial";
            const [words, close] = [document.createElement("p"), document.createElement("button")];
            words.textContent = "The recording closed and a new one began: the clock of this computer was set. Arm again.";
            close.textContent = "Close";
            bar.append(words, close);
            region.append(bar);
          }
          next.style.whiteSpace = "pre";
          const [strong, quiet] = [next.firstElementChild, next.lastElementChild];
          if (strong !== null) strong.textContent = Number(of) > 3 ? "one\ntwo" : "one";
          if (quiet !== null) quiet.textContent = Number(of) > 2 ? "three\nfour" : "three";
          const box = button.getBoundingClientRect();
          const seen = {
            state: shown,
            // Measured before the view says its own words again.
            scrolls: document.documentElement.scrollHeight > window.innerHeight,
            abortCut: box.bottom > window.innerHeight || box.height < 76,
          };
          await new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(drawn)));
          return { ...seen, heroTooSmall: Number.parseFloat(getComputedStyle(hero).fontSize) < 117 };
        },
        [bars, lines, state] as const,
      );
    for (const scheme of ["day", "night", "sun"]) {
      while ((await page.evaluate(() => document.documentElement.dataset.scheme)) !== scheme) await page.keyboard.press("t");
      for (const [bars, lines] of [
        [0, 2],
        [1, 3],
        [0, 4],
        [2, 2],
        [2, 4],
      ] as const) {
        const state = `${scheme}, ${bars} notices, ${lines} lines`;
        expect(await measure(bars, lines, state)).toEqual({ state, scrolls: false, abortCut: false, heroTooSmall: false });
        await suite.visit.shot(`passenger-${width}-${scheme}-${bars}-${lines}`);
      }
    }
    await measure(0, 2, "none left");
  });

  test("sound is the first thing in the settings, and the way out stays in sight however far they are scrolled", async () => {
    const { page } = suite.visit;
    await page.setViewportSize({ width: 1280, height: 720 });
    await go(page, "before");
    await page.getByRole("button", { name: /Keys and settings/ }).click();
    const dialog = page.locator("dialog.keys");
    const box = await dialog.getByLabel("Sounds").boundingBox();
    expect((box?.y ?? 720) + (box?.height ?? 0)).toBeLessThan(360);
    await dialog.getByLabel(/Width of the bar/).scrollIntoViewIfNeeded();
    const close = dialog.getByRole("button", { name: "Close", exact: true });
    const way = await close.boundingBox();
    expect(way?.y).toBeGreaterThanOrEqual(0);
    expect((way?.y ?? 720) + (way?.height ?? 0)).toBeLessThanOrEqual(720);
    await suite.visit.shot("passenger-settings-end");
    await close.click();
    await dialog.waitFor({ state: "detached" });
  });

  test("what is left is named in the sentence, and what was overruled is not called ticked", async () => {
    const { page } = suite.visit;
    await go(page, "before");
    const sentence = page.locator(".before h1");
    await page.waitForFunction(() =>
      /left\. Not seen as ready: laptop battery and antenna fixed\. For you to tick: 7\.$/.test(
        document.querySelector(".before h1")?.textContent ?? "",
      ),
    );
    const battery = page.locator(".check", { hasText: "Laptop battery" });
    await battery.getByRole("button", { name: "Overrule" }).click();
    await page.keyboard.type("one run only");
    await page.keyboard.press("Enter");
    // The focus stays where the work is: the row's next button, then the first empty box.
    await battery.and(page.locator(".overruled")).waitFor();
    await page.waitForFunction(() => document.activeElement?.textContent === "Withdraw");
    await page.locator(".check", { hasText: "Antenna fixed" }).getByRole("button", { name: "It is fixed" }).press("Enter");
    await page.waitForFunction(() => document.activeElement?.matches(".confirm input:not(:checked)"));
    for (const box of await page.locator(".confirm input").all()) await box.check();
    await page.waitForFunction(() => /^All ticked/.test(document.querySelector(".before h1")?.textContent ?? ""));
    expect(await sentence.textContent()).toBe("All ticked but laptop battery, overruled.");
    await suite.visit.shot("passenger-all-ticked");
  });

  test("by fingers alone: a label of nine is one tap on the label and one on its name, an abort is noted; Space still arms after both", async () => {
    const { page } = suite.visit;
    await page.setViewportSize({ width: 1280, height: 720 });
    await go(page, "drive");
    await page.keyboard.press("Escape");
    await plate(page, "idle");
    const label = page.locator(".drive .top .run");
    const was = (await label.locator(".run-words").textContent()) ?? "";
    await label.click();
    const choice = page.locator("dialog .choices button", { hasText: was.endsWith("on") ? "traction control off" : "traction control on" });
    for (const button of await page.locator("dialog button").all()) expect((await button.boundingBox())?.height).toBeGreaterThanOrEqual(76);
    await suite.visit.shot("passenger-label");
    await choice.click();
    await page.waitForFunction((before) => document.querySelector(".run-words")?.textContent !== before, was);
    // Enter in the field gives what is written there, not the first name above it.
    await label.click();
    await page.keyboard.press("Control+A");
    await page.keyboard.type("soft map on");
    await page.keyboard.press("Enter");
    await page.locator(".run-words", { hasText: "soft map on" }).waitFor();
    await suite.visit.shot("passenger-own-label");
    await page.keyboard.press("Space");
    await plate(page, "launched");
    await suite.visit.shot("passenger-launched");
    await label.click({ force: true });
    expect(await page.locator("dialog[open]").count()).toBe(0);
    await page.getByRole("button", { name: /^Abort/ }).click();
    await plate(page, "aborted");
    await suite.visit.shot("passenger-aborted");
    const note = page.locator(".foot .note");
    expect((await note.boundingBox())?.height).toBeGreaterThanOrEqual(76);
    await note.click();
    await suite.visit.shot("passenger-note");
    await page.locator("dialog input").fill("dog on the strip");
    await page.locator("dialog button[value=yes]").click();
    // A key is answered where the passenger looks, also when it had no effect.
    const answer = page.locator(".foot .next .quiet");
    await answer.filter({ hasText: /^Note kept$/ }).waitFor();
    await page.keyboard.press("c");
    await answer.filter({ hasText: /^Countdown: only while standing$/ }).waitFor();
    await page.keyboard.press("r");
    await answer.filter({ hasText: /^Drive again: needs a plan$/ }).waitFor();
    await page.keyboard.press("9");
    await answer.filter({ hasText: /^No label 9 yet$/ }).waitFor();
    await suite.visit.shot("passenger-answered");
    await page.keyboard.press("Space");
    await plate(page, "armed");
    await page.keyboard.press("Escape");
    await plate(page, "idle");
  });

  test("an abort under a plan, with the run before it still on offer, leaves words and buttons their room in every scheme", async () => {
    const planned = await startVisit(suite.browser, "planned");
    const { page } = planned;
    await go(page, "drive");
    await plate(page, "idle");
    await armByKey(page);
    await plate(page, "done");
    await page.keyboard.press("Escape");
    await plate(page, "idle");
    await armByKey(page);
    await plate(page, "launched");
    await page.keyboard.press("Escape");
    await plate(page, "aborted");
    await page.getByRole("button", { name: /^Drive again/ }).waitFor();
    for (const scheme of ["day", "night", "sun"]) {
      while ((await page.evaluate(() => document.documentElement.dataset.scheme)) !== scheme) await page.keyboard.press("t");
      const seen = await page.evaluate(() => {
        const foot = document.querySelector(".foot");
        const words = document.querySelector(".foot .next");
        return {
          tall: document.documentElement.scrollHeight > 720,
          wide: (foot?.scrollWidth ?? 0) > (foot?.clientWidth ?? 0) || (words?.scrollWidth ?? 0) > (words?.clientWidth ?? 0),
        };
      });
      expect(seen, scheme).toEqual({ tall: false, wide: false });
      await planned.shot(`passenger-planned-abort-${scheme}`);
    }
    await planned.end();
    expect(planned.trouble).toEqual([]);
  });

  test("a phone shows every state whole, with a way back, and never arms", async () => {
    const { page } = suite.visit;
    await page.setViewportSize({ width: 390, height: 844 });
    await go(page, "drive");
    const whole = async (state: string) => {
      await plate(page, state);
      const size = await page.evaluate(() => [document.documentElement.scrollWidth, document.documentElement.scrollHeight]);
      await suite.visit.shot(`passenger-phone-${state}`);
      expect({ state, wide: size[0], fits: (size[1] ?? 0) <= 844 }).toEqual({ state, wide: 390, fits: true });
    };
    await whole("idle");
    expect(await page.getByRole("button", { name: /^Arm/ }).count()).toBe(0);
    await page.keyboard.press("Space");
    for (const state of ["armed", "standing", "launched"]) await whole(state);
    await page.keyboard.press("Escape");
    await whole("aborted");
    await page.getByRole("button", { name: /^Leave/ }).click();
    await page.locator("body[data-page=runs]").waitFor({ state: "attached" });
  });
});
