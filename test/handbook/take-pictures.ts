/**
 * Takes every picture of the handbook from the simulated day in a real Chromium, and writes them with what they were drawn from (pictures.json) into
 * docs/handbook/pictures. `npm run handbook:pictures [-- --real-pace] [-- NAME...]`: the simulated car drives four times as fast, on a busy
 * machine at its real pace. Exit 1 when a page does not come to what its picture shows.
 */
import { existsSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import type { Page } from "playwright-core";
import { composeScreens, hostClock } from "../../src/main/compose.ts";
import type { PageName } from "../../src/renderer/screen/page-name.ts";
import { makeHandbookDay } from "../support/crowded-day.ts";
import { openBrowser } from "../e2e/support/browser.ts";
import { stagePage } from "../e2e/support/staged-page.ts";
import { startVisit } from "../e2e/support/visit.ts";
import { fewColours } from "./few-colours.ts";
import { MANIFEST, readManifest } from "./manifest.ts";
import { type Picture, PICTURES } from "./pictures.ts";
import { fileHash, sourcesHash } from "./picture-sources.ts";

const REAL_PACE = "--real-pace";
const FOLDER = fileURLToPath(new URL("../../docs/handbook/pictures", import.meta.url));
const wanted = process.argv.slice(2).filter((word) => word !== REAL_PACE);
const ONE_PIXEL = Buffer.from("iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAAAAAA6fptVAAAACklEQVR4nGNgAAAAAgABSK+kcQAAAABJRU5ErkJggg==", "base64");
const isWanted = (name: string) => wanted.length === 0 || wanted.includes(name);
const unknown = wanted.find((name) => !PICTURES.some((picture) => picture.name === name));
if (unknown !== undefined) {
  console.error(`handbook:pictures: no picture ${JSON.stringify(unknown)}; there are: ${PICTURES.map(({ name }) => name).join(", ")}`);
  process.exit(2);
}
mkdirSync(FOLDER, { recursive: true });
// The screens are not built without the pictures of their handbook: one that is new stands in for itself, and the test finds it where it was not taken.
for (const { name } of PICTURES) if (!existsSync(join(FOLDER, `${name}.png`))) writeFileSync(join(FOLDER, `${name}.png`), ONE_PIXEL);
const folder = mkdtempSync(join(tmpdir(), "gripbook-handbook-"));
const browser = await openBrowser();
const taken = new Map<string, { readonly page: PageName; readonly png: Buffer }>();

/** Takes those of the pictures that this way of showing the screens is for. */
async function takeAll(page: Page, from: Picture["from"]): Promise<void> {
  await page.getByRole("button", { name: "I have read this" }).click();
  for (const { name, page: shown, pose } of PICTURES.filter((picture) => picture.from === from && isWanted(picture.name))) {
    await page.evaluate((hash) => {
      window.location.hash = hash;
    }, shown);
    await page.locator(`body[data-page="${shown}"]`).waitFor({ state: "attached" });
    await pose(page);
    taken.set(name, { page: shown, png: fewColours(await page.screenshot()) });
    console.log(name);
  }
}

/** Writes what was taken, and what each of these was drawn from. */
function keep(): void {
  const now = [...taken].map(([name, { page, png }]) => {
    const file = join(FOLDER, `${name}.png`);
    writeFileSync(file, png);
    console.log(`${name}.png: ${Math.round(png.length / 1000)} kB`);
    return [`${name}.png`, { page, sources: sourcesHash(page), picture: fileHash(file) }] as const;
  });
  const before = existsSync(MANIFEST) ? Object.entries(readManifest()) : [];
  const known = before.filter(([name]) => PICTURES.some((one) => `${one.name}.png` === name));
  const all = Object.entries(Object.fromEntries([...known, ...now])).sort(([a], [b]) => (a < b ? -1 : 1));
  writeFileSync(MANIFEST, `${JSON.stringify(Object.fromEntries(all), null, 2)}\n`);
}

/** The book of the day over a core in this process: nothing is recorded beside it. */
async function takeBook(): Promise<void> {
  const bookFile = join(folder, "quarrowby.gripbook");
  makeHandbookDay(bookFile);
  const { core } = composeScreens({ bookFile, setUpFile: null, emit: () => undefined, rememberFile: null, clock: hostClock() });
  try {
    const ask = (name: string, argument: unknown) => core.request(name as never, argument as never) as Promise<unknown>;
    const { page } = await stagePage(browser, ask, async () => (await core.request("report.html", {})).html);
    await takeAll(page, "book");
  } finally {
    await core.close();
  }
}

/** The simulated car, in the same book. */
async function takeLive(): Promise<void> {
  const visit = await startVisit(browser, process.argv.includes(REAL_PACE) ? "simulated" : "fast", {}, makeHandbookDay);
  try {
    await takeAll(visit.page, "live");
  } finally {
    await visit.end();
  }
}

try {
  // One after the other: the fit of the car, in this process, would hold up what drives the browser.
  const sides = (["live", "book"] as const).filter((from) => PICTURES.some((one) => one.from === from && isWanted(one.name)));
  for (const from of sides) await (from === "book" ? takeBook() : takeLive());
} finally {
  await browser.close();
  rmSync(folder, { recursive: true, force: true });
  // At the end, as a changed picture has the screens built anew; and what was taken before something failed is kept.
  keep();
}
