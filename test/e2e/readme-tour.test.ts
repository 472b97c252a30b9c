/** README's tour of the simulated day, driven exactly as it is written: every key of every step is read out of README and pressed, and what the step says is there. */
import { readFileSync } from "node:fs";
import type { Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { makeFirstDay } from "../support/crowded-day.ts";
import { browserPath, openBrowser, PAPER_WAIT_MS, WAIT_MS } from "./support/browser.ts";
import { startVisit, type Visit } from "./support/visit.ts";
import type { Browser } from "playwright-core";

const tour = /## A tour of sixty seconds\n([\s\S]*?)\n## /.exec(readFileSync("README.md", "utf8"))?.[1] ?? "";
const STEPS = [...tour.matchAll(/^\d+\. (.*)$/gm)].map(([, step]) => step as string);
/** "`[` three times" is three keys. */
const TIMES: Readonly<Record<string, number>> = { twice: 2, "three times": 3 };
const keysOf = (step: string) =>
  [...step.matchAll(/`([^`]+)`(?: (twice|three times))?/g)].flatMap(([, key, times]) =>
    Array<string>(TIMES[times ?? ""] ?? 1).fill(key as string),
  );
const NAMES: Readonly<Record<string, string>> = { Esc: "Escape" };

const headed = (page: Page, words: RegExp, timeout = WAIT_MS) => page.locator("h1:visible", { hasText: words }).waitFor({ timeout });
const onPage = (page: Page, name: string) => page.locator(`body[data-page="${name}"]`).waitFor({ state: "attached" });
const player = (page: Page, word: string) => page.locator(".player button", { hasText: word }).waitFor();

/** What is there after each key of each step, in README's order. */
const SEEN: readonly (readonly ((page: Page) => Promise<unknown>)[])[] = [
  [
    async (page) => headed(page, /^Run 11, /),
    async (page) => headed(page, /^Run 10, /),
    async (page) => {
      await headed(page, /^Run 9, traction control off, .*flagged wheelspin/);
      await page.locator('.run-body[aria-busy="false"]').waitFor();
    },
  ],
  [(page) => player(page, "Pause"), (page) => player(page, "Play")],
  [
    (page) => page.locator(".tools button", { hasText: "Over run 9" }).waitFor(),
    (page) => headed(page, /^Run 10 is \d\.\d\d.s ahead of run 9 at 60 mph/),
    (page) => headed(page, /^Run 10, traction control on/),
  ],
  [
    (page) => headed(page, /^Traction control on is 0\.91 s quicker than off, 0–60 mph\.$/),
    (page) => page.locator("button:visible", { hasText: "First only" }).waitFor(),
  ],
  [(page) => headed(page, /^Traction control on loses \d\.\d\d.s, 0–60 mph; most of it held back\.$/, PAPER_WAIT_MS)],
  [
    async (page) => {
      await onPage(page, "plan");
      await page.waitForFunction(() =>
        [...document.querySelectorAll("label")].some(
          (label) => /^Expected difference/.test(label.textContent ?? "") && label.querySelector("input")?.value !== "",
        ),
      );
    },
  ],
  [
    async (page) => {
      await onPage(page, "drive");
      await page.locator('.foot .main:not([aria-disabled="true"])').waitFor({ timeout: WAIT_MS });
    },
    // Armed, it stops and launches by itself.
    (page) => page.locator(".plate[data-state=launched]").waitFor({ timeout: PAPER_WAIT_MS }),
    (page) => page.locator(".plate[data-state=aborted]").waitFor({ timeout: WAIT_MS }),
    (page) => onPage(page, "runs"),
  ],
  [
    (page) => page.locator("dialog.keys").waitFor(),
    async (page) => {
      await page.locator("dialog.handbook").waitFor();
      expect(await page.locator("dialog.handbook h2.lead").first().textContent()).toBe("Runs and the report");
    },
    (page) => page.locator("dialog").waitFor({ state: "detached" }),
  ],
  [
    async (page) => {
      await onPage(page, "report");
      await page.frameLocator("iframe").locator("h1").first().waitFor({ timeout: PAPER_WAIT_MS });
    },
    async () => undefined,
  ],
];

describe.skipIf(browserPath === null)("README's tour in Chromium", () => {
  let browser: Browser;
  let visit: Visit;
  beforeAll(async () => {
    browser = await openBrowser();
    visit = await startVisit(browser, "simulated", { acceptDownloads: true }, makeFirstDay);
    await visit.page.locator(".tile").nth(11).waitFor({ timeout: WAIT_MS });
    await headed(visit.page, /^Run 12, /);
    await visit.page.getByRole("button", { name: "I have read this" }).click();
  });
  afterAll(async () => {
    await visit?.end();
    await browser?.close();
    expect(visit.trouble.filter((line) => !/frame is sandboxed/.test(line))).toEqual([]);
  });

  test("has as many steps as are looked at here, with as many keys, and three pictures", () => {
    expect(STEPS.map((step) => keysOf(step).length)).toEqual(SEEN.map((seen) => seen.length));
    expect(tour.match(/!\[[^\]]+\]\(docs\/handbook\/pictures\/[a-z-]+\.png\)/g)).toHaveLength(3);
  });

  test.each(STEPS.map((step, at) => [at + 1, step] as const))("step %i: %s", async (number, step) => {
    const { page } = visit;
    for (const [at, key] of keysOf(step).entries()) {
      const pressed = page.keyboard.press(NAMES[key] ?? key);
      if (number === STEPS.length && key === "S")
        expect((await Promise.all([page.waitForEvent("download"), pressed]))[0].suggestedFilename()).toMatch(/\.html$/);
      await pressed;
      await SEEN[number - 1]?.[at]?.(page);
    }
  });
});
