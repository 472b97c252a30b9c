/** Armed on Drive, and gone to another page: it says that launches are being timed, with the abort, and shows a run as it is stored (docs/design.md, safety: whatever is shown, Abort stays). */
import { describe, expect, test } from "vitest";
import { browserPath, WAIT_MS } from "./support/browser.ts";
import { useVisit } from "./support/visit.ts";

describe.skipIf(browserPath === null)("armed while another page is shown, in Chromium", () => {
  const suite = useVisit("fake");
  const bar = () => suite.visit.page.locator(".armed-bar");
  const arm = async () => {
    const { page } = suite.visit;
    await page.evaluate(() => {
      window.location.hash = "drive";
    });
    await page.locator(".plate[data-state=idle], .plate[data-state=aborted]").waitFor({ timeout: WAIT_MS });
    await page.keyboard.press("Space");
    await page.locator(".plate[data-state=armed], .plate[data-state=standing]").waitFor({ timeout: WAIT_MS });
    expect(await bar().isVisible()).toBe(false);
    await page.keyboard.press("l");
    await page.locator("body[data-page=runs]").waitFor({ state: "attached" });
  };

  test("the state stands above the page, and the run that is stored joins the others there", async () => {
    const { page } = suite.visit;
    await page.getByRole("button", { name: "I have read this" }).press("Enter");
    const runs = await page.locator(".tile").count();
    await arm();
    await bar().waitFor();
    expect(await bar().getByRole("button", { name: "Abort" }).isVisible()).toBe(true);
    await bar().filter({ hasText: "A launch is going on." }).waitFor({ timeout: WAIT_MS });
    await suite.visit.shot("armed-elsewhere");
    await page.locator(".tile").nth(runs).waitFor({ timeout: WAIT_MS });
    await bar().filter({ hasText: "Armed" }).waitFor({ timeout: WAIT_MS });
    await bar().getByRole("button", { name: "Abort" }).click();
    await bar().waitFor({ state: "hidden" });
  });

  test("Esc aborts from there, and its button goes back to Drive", async () => {
    const { page } = suite.visit;
    await arm();
    await bar().filter({ hasText: "A launch is going on." }).waitFor({ timeout: WAIT_MS });
    await page.keyboard.press("Escape");
    await bar().waitFor({ state: "hidden" });
    // It is told where it was done, until it is armed again.
    const told = page.locator(".bar", { hasText: "Aborted: nothing is armed." });
    await told.waitFor();
    // Before a launch as well: Esc aborts at any time.
    await arm();
    await told.waitFor({ state: "detached" });
    await page.keyboard.press("Escape");
    await bar().waitFor({ state: "hidden" });
    await arm();
    await bar().getByRole("button", { name: "Go to Drive" }).click();
    await page.locator("body[data-page=drive]").waitFor({ state: "attached" });
    expect(await bar().isVisible()).toBe(false);
    await page.keyboard.press("Escape");
    await page.locator(".plate[data-state=idle], .plate[data-state=aborted]").waitFor({ timeout: WAIT_MS });
  });

  test("where nothing arrives any more it does not go on saying that it is armed", async () => {
    const { page } = suite.visit;
    let cut = (): Promise<void> => Promise.resolve();
    await page.routeWebSocket(/\/core$/, (route) => {
      const core = route.connectToServer();
      cut = async () => {
        // The page's side first: what the page says meanwhile would be sent on into a closed socket.
        await route.close();
        await core.close();
      };
    });
    await page.reload();
    await page.locator("body[data-page]").waitFor({ state: "attached" });
    await arm();
    await bar().filter({ hasText: "Armed" }).waitFor();
    await page.routeWebSocket(/\/core$/, (route) => void route.close());
    await cut();
    await bar().filter({ hasText: "is not known" }).waitFor({ timeout: WAIT_MS });
  });
});
