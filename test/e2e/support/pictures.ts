/** Pictures of what is looked at, for the eye and not for the test: taken only where GRIPBOOK_PICTURES names a folder, as each costs as much as a look at the page. */
import { mkdirSync } from "node:fs";
import { join } from "node:path";
import type { Page } from "playwright-core";

const { GRIPBOOK_PICTURES: FOLDER } = process.env;

export async function picture(page: Page, name: string, fullPage = false): Promise<void> {
  if (FOLDER === undefined) return;
  mkdirSync(FOLDER, { recursive: true });
  await page.screenshot({ path: join(FOLDER, `${name}.png`), fullPage });
}
