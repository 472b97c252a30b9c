/** The pictures of the handbook: which page each shows, and how the page is brought to it on the simulated day, by the keys that a person presses. */
import type { Page } from "playwright-core";
import type { PageName } from "../../src/renderer/screen/page-name.ts";
import { PAPER_WAIT_MS, WAIT_MS } from "../e2e/support/browser.ts";

export interface Picture {
  readonly name: string;
  readonly page: PageName;
  /** The day's book alone, or the simulated car at work. */
  readonly from: "book" | "live";
  /** The page is shown; brings it to what the picture shows. */
  pose(page: Page): Promise<void>;
}

const headed = (page: Page, words: RegExp) => page.locator("h1:visible", { hasText: words }).waitFor({ timeout: WAIT_MS });

/** Arms where nothing is armed yet. */
async function arm(page: Page): Promise<void> {
  await page.locator(".foot .main:visible").waitFor({ timeout: WAIT_MS });
  const idle = page.locator(".plate[data-state=idle]");
  if ((await idle.count()) === 0) return;
  await page.locator('.foot .main:not([aria-disabled="true"])').waitFor({ timeout: WAIT_MS });
  await page.keyboard.press("Space");
  await idle.waitFor({ state: "detached", timeout: WAIT_MS });
}

/** In the order in which they are taken: nothing that one does is to be seen in one before it. */
export const PICTURES: readonly Picture[] = [
  {
    name: "runs",
    page: "runs",
    from: "book",
    async pose(page) {
      await headed(page, /^Run 12,/);
      await page.locator('.run-body[aria-busy="false"]').waitFor();
      await page.locator(".tile", { hasText: "traction control off" }).nth(1).click();
      await headed(page, /^Run \d+, traction control off/);
      await page.locator('.run-body[aria-busy="false"]').waitFor();
    },
  },
  {
    name: "compare",
    page: "compare",
    from: "book",
    async pose(page) {
      await headed(page, /^Traction control on is \d\.\d\d s quicker/);
      // The hint beside it rests on the fit of the car.
      await page.getByText("Being worked out.").waitFor({ state: "hidden", timeout: PAPER_WAIT_MS });
    },
  },
  {
    name: "lost",
    page: "lost",
    from: "book",
    pose: (page) => page.locator(".page.lost h1", { hasNotText: "Looking where the time went" }).waitFor({ timeout: PAPER_WAIT_MS }),
  },
  {
    name: "plan",
    page: "plan",
    from: "book",
    async pose(page) {
      await page.getByLabel(/^Usable length/).fill("900");
      await page.getByLabel(/^Run-off/).fill("grass, 200 m");
      await page.getByRole("button", { name: /^Draw the order/ }).click();
      await headed(page, /drawn|order/i);
    },
  },
  {
    name: "report",
    page: "report",
    from: "book",
    async pose(page) {
      await headed(page, /^(?!.*being written)/);
      await page.frameLocator("iframe").locator("h1").first().waitFor({ timeout: PAPER_WAIT_MS });
    },
  },
  {
    name: "wiring",
    page: "wiring",
    from: "live",
    pose: (page) => page.locator("tr", { hasText: /^Motor speed.*agrees with ground/s }).waitFor({ timeout: WAIT_MS }),
  },
  { name: "before", page: "before", from: "live", pose: (page) => headed(page, /checks? left/) },
  { name: "car", page: "car", from: "live", pose: (page) => headed(page, /known well enough/) },
  {
    name: "drive-ready",
    page: "drive",
    from: "live",
    async pose(page) {
      await arm(page);
      await page.locator(".plate[data-state=standing]").waitFor({ timeout: PAPER_WAIT_MS });
      await page.waitForFunction(() => document.querySelector(".hero .text")?.textContent === "Ready", undefined, { timeout: WAIT_MS });
    },
  },
  {
    name: "drive-launch",
    page: "drive",
    from: "live",
    async pose(page) {
      await arm(page);
      // On a busy machine the page may miss the moment: the car launches again by itself.
      await page.waitForFunction(
        () =>
          document.querySelector(".plate[data-state=launched]") !== null &&
          document.querySelector(".hero p")?.textContent?.startsWith("60 mph") === true,
        undefined,
        { timeout: PAPER_WAIT_MS },
      );
    },
  },
];
