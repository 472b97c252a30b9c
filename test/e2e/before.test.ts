/**
 * Before driving in Chromium: what Gripbook confirmed, what a person overrules with a note, what a person ticks; speech only where the
 * passenger chose it.
 */
import { describe, expect, test } from "vitest";
import { armByKey } from "./support/arm.ts";
import { browserPath, WAIT_MS } from "./support/browser.ts";
import { useVisit } from "./support/visit.ts";

describe.skipIf(browserPath === null)("before driving", () => {
  const suite = useVisit("fake");

  test("each line says what was seen and what to do; a note overrules one, a look ticks the antenna, both can be withdrawn", async () => {
    const { page } = suite.visit;
    await page.evaluate(() => {
      window.location.hash = "before";
    });
    const check = (name: string) => page.locator(".check", { hasText: name });
    await check("Fix and rate").waitFor();
    expect(await check("Fix and rate").getAttribute("class")).toContain("ticked");
    expect(await check("Laptop battery").textContent()).toContain("31 %, on battery. Plug it in, or charge it over 50 %.");
    expect(await page.locator(".before h1").textContent()).toMatch(/Not seen as ready: /);
    await check("Laptop battery").getByRole("button", { name: "Overrule" }).click();
    await page.locator("dialog input").fill("one run only");
    await page.locator("dialog button", { hasText: "Overrule" }).click();
    await check("Laptop battery").and(page.locator(".overruled")).waitFor();
    expect(await check("Laptop battery").textContent()).toContain("Driven in spite of it: one run only");
    await check("Antenna fixed").getByRole("button", { name: "It is fixed" }).click();
    await check("Antenna fixed").and(page.locator(".ticked")).waitFor();
    expect(await page.locator(".before h1").textContent()).toMatch(/or you to tick/);
    await check("Laptop battery").getByRole("button", { name: "Withdraw" }).click();
    await check("Laptop battery").and(page.locator(".wrong")).waitFor();
    await suite.visit.shot("before-list");
    // A box stands beside its words, not over them.
    for (const label of await page.locator(".confirm label").all()) {
      const besides = await label.evaluate((of) => {
        const words = document.createRange();
        words.selectNodeContents(of.lastChild as Node);
        return words.getBoundingClientRect().left - (of.querySelector("input") as HTMLElement).getBoundingClientRect().right;
      });
      expect(besides).toBeGreaterThan(0);
    }
    // After the last tick Enter is the page's key, which its button shows.
    await page.locator(".confirm input").last().focus();
    await page.keyboard.press(" ");
    await page.keyboard.press("Enter");
    await page.locator('body[data-page="drive"]').waitFor({ state: "attached" });
    await page.evaluate(() => {
      window.location.hash = "before";
    });
    // A tick is a person's word for this session, and the page says so.
    expect(await page.locator(".before h2", { hasText: "You confirm" }).textContent()).toContain("a reload asks again");
  });

  test("nothing is said aloud until the passenger chooses it; then ready is, and no word is go", async () => {
    const { page } = suite.visit;
    await page.evaluate(() => {
      const said: string[] = [];
      Object.assign(window, { said });
      window.speechSynthesis.speak = ({ text }) => said.push(text);
      window.location.hash = "drive";
    });
    const said = () => page.evaluate(() => (window as unknown as { said: string[] }).said);
    const launch = async () => {
      await armByKey(page);
      for (const word of ["standing", "launched", "done"])
        await page.locator(".plate", { hasText: new RegExp(`^${word}$`, "i") }).waitFor({ timeout: WAIT_MS });
    };
    await launch();
    expect(await said()).toEqual([]);
    await page.keyboard.press("Escape");
    await page.evaluate(() => {
      window.location.hash = "before";
    });
    await page.keyboard.press("F1");
    await page.locator("dialog label", { hasText: "aloud" }).locator("input").check();
    await page.keyboard.press("Escape");
    await page.evaluate(() => {
      window.location.hash = "drive";
    });
    await launch();
    const words = await said();
    expect(words[0]).toBe("Ready");
    expect(words.some((text) => /^0.60 mph: \d\.\d\d seconds$/.test(text))).toBe(true);
    expect(words.at(-1)).toBe("Done");
    expect(words.join(" ")).not.toMatch(/\bgo\b/i);
  });
});
