/** Arms on Drive by its key, as a person would: again where nothing of it is seen, as on a busy machine nothing may arrive for a moment, and then nothing is armed. */
import type { Page } from "playwright-core";
import { WAIT_MS } from "./browser.ts";

const TRIES = 8;

export async function armByKey(page: Page): Promise<void> {
  // A key pressed before would be the other page's.
  await page.locator('body[data-page="drive"]').waitFor({ state: "attached" });
  const resting = page.locator(".plate[data-state=idle], .plate[data-state=aborted]");
  const begun = page.locator(".plate:is([data-state=armed], [data-state=standing], [data-state=launched], [data-state=done])");
  for (let left = TRIES; left > 0; left -= 1) {
    await resting.or(begun).first().waitFor({ timeout: WAIT_MS });
    if ((await begun.count()) > 0) return;
    await page.keyboard.press("Space");
    const seen = await begun.waitFor({ timeout: WAIT_MS / TRIES }).then(
      () => true,
      () => false,
    );
    if (seen) return;
  }
  throw new Error(`Space was pressed ${TRIES} times on Drive, and nothing was armed`);
}
